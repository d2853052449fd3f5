// One page: its picture, what the check says of it pinned to the place, and the mend.
import { ROOT, ask, by, el, say, send } from "/static/common.js";

const { size, name } = by("main").dataset;
const MM_PER_PX = 25.4 / 130;
let version = "";

function pin(one, number) {
  if (!one.place) return [];
  const picture = by("picture");
  const [x, y, width, height] = one.place;
  const across = (value) => `${(100 * value) / (picture.naturalWidth * MM_PER_PX)}%`;
  const down = (value) => `${(100 * value) / (picture.naturalHeight * MM_PER_PX)}%`;
  const style = { left: across(x), top: down(y) };
  return [
    el("div", { class: "frame", style: { ...style, width: across(width), height: down(height) } }),
    el(
      "button",
      {
        class: "pin",
        type: "button",
        style,
        "aria-label": `Finding ${number}`,
        onclick: () => by(`finding-${number}`).scrollIntoView({ block: "center" }),
      },
      String(number),
    ),
  ];
}

function show(found) {
  for (const old of by("sheet").querySelectorAll(".pin, .frame")) old.remove();
  by("found").replaceChildren(
    ...found.map((one, index) =>
      el(
        "li",
        { id: `finding-${index + 1}` },
        el("strong", {}, `${index + 1}. ${one.element || "The page"}`),
        ` ${one.words}`,
        el("p", { class: "remedy" }, one.remedy),
      ),
    ),
  );
  if (!found.length) by("found").replaceChildren(el("li", {}, "Nothing to mend."));
  by("sheet").append(...found.flatMap((one, index) => pin(one, index + 1)));
  by("mend").hidden = !found.some((one) => one.mendable);
}

async function look() {
  const answer = await ask(`/api/drawing/${size}/${name}`);
  if (answer.version === version) return;
  const first = version === "";
  version = answer.version;
  if (!first) {
    by("picture").src = `${ROOT}/picture/drawing/${size}/${name}/130?v=${version}`;
    say("The page was saved; this is how it is now.");
  }
  await by("picture")
    .decode()
    .catch(() => {});
  show(answer.findings);
}

function wrong(problem) {
  by("wrong").textContent = problem.message;
  by("wrong").hidden = false;
}

by("show").addEventListener("click", () => send("/api/show-drawing", { size, name }).catch(wrong));
by("mend").addEventListener("click", async () => {
  try {
    const { mended } = await send("/api/mend", { size, name });
    by("lines").replaceChildren(el("li", {}, `${mended} mended in the file.`));
    await look();
  } catch (problem) {
    wrong(problem);
  }
});
by("resize").addEventListener("submit", async (event) => {
  event.preventDefault();
  by("wrong").hidden = true;
  const to = by("to").value;
  try {
    const made = await send("/api/resize", { size, names: [name], to });
    const link = el("a", { href: `${ROOT}/drawing/${to}/${name}` }, "Look at the new page.");
    by("lines").replaceChildren(
      ...made.lines.map((line) => el("li", {}, line)),
      el("li", {}, link),
    );
  } catch (problem) {
    wrong(problem);
  }
});
await look().catch(wrong);
setInterval(() => document.hidden || look().catch(wrong), 1500);
