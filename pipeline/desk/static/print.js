// Pictures of printed sheets are sent one by one, then read together.
import { ROOT, by, el, say, send } from "./common.js";

let sides = 0;

async function put(file, side) {
  const answer = await fetch(`${ROOT}/api/print/${side}`, {
    method: "POST",
    headers: { "Content-Type": file.type || "image/unknown" },
    body: file,
  });
  if (!answer.ok) throw new Error(await answer.text());
}

function tell(text) {
  by("state").textContent = text;
}

function show(found) {
  const said = found.good ? "As it should be." : "Something isn't as it should be.";
  tell(said);
  say(said);
  by("lines").replaceChildren(
    ...found.lines.map((line) => el("li", { class: line.startsWith(" ") ? "more" : "" }, line)),
  );
  by("note").hidden = !found.shift;
  const now = Date.now();
  by("prints").replaceChildren(
    ...Array.from({ length: found.pictures }, (_, index) =>
      el("img", {
        src: `${ROOT}/picture/print/${index + 1}?at=${now}`,
        alt: `Side ${index + 1} as it was printed, over the page; rings show where they differ`,
      }),
    ),
  );
}

async function read(files) {
  const pictures = [...files].slice(0, 2);
  if (!pictures.length) return;
  by("lines").replaceChildren();
  by("prints").replaceChildren();
  by("note").hidden = true;
  tell("Reading…");
  try {
    for (const [index, file] of pictures.entries()) await put(file, index + 1);
    sides = pictures.length;
    show(await send("/api/print", { sides }));
  } catch (problem) {
    tell(problem.message);
    say(problem.message);
  }
}

const chosen = by("files");
chosen.addEventListener("change", ({ target }) => read(target.files));
read(chosen.files); // chosen before this was loaded
const drop = by("drop");
for (const kind of ["dragenter", "dragover"]) {
  drop.addEventListener(kind, (event) => {
    event.preventDefault();
    drop.classList.add("over");
  });
}
drop.addEventListener("dragleave", () => drop.classList.remove("over"));
drop.addEventListener("drop", (event) => {
  event.preventDefault();
  drop.classList.remove("over");
  read(event.dataTransfer.files);
});
by("write").addEventListener("click", async () => {
  by("write").disabled = true;
  try {
    await send("/api/print", { sides, note: true });
    tell("The shift is written into the season. Build it again.");
    by("note").hidden = true;
  } catch (problem) {
    tell(problem.message);
  }
  by("write").disabled = false;
});
