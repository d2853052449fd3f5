// One page: its picture, what the check says of it pinned to the place, and the mend.
import { ROOT, ask, awaited, by, el, say, send } from "/static/common.js";

const { size, name } = by("main").dataset;
const MM_PER_PX = 25.4 / 130;
let version = "";
/** What the check said last. */
let said = "";

/** Where a place (mm of the page) is on its picture. */
function spot([x, y, width, height]) {
  const picture = by("picture");
  const across = (value) => `${(100 * value) / (picture.naturalWidth * MM_PER_PX)}%`;
  const down = (value) => `${(100 * value) / (picture.naturalHeight * MM_PER_PX)}%`;
  return { left: across(x), top: down(y), width: across(width), height: down(height) };
}

function pin(one, number) {
  if (!one.place || !by("picture").naturalWidth) return [];
  const { width, height, ...style } = spot(one.place);
  return [
    el("div", { class: "frame", style: { ...style, width, height } }),
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

/** What a label is to say in each language, which begins as what it says or, where that is wrong,
as what is drawn. */
function labelForm({ key, drawn, words }, remedy) {
  const fields = words.map(({ tag, title, said }, at) => {
    const value = said && (at || !remedy) ? said : drawn;
    const attributes = { lang: tag, dir: "auto", required: true, maxlength: "200", value };
    return [tag, title, el("input", { ...attributes, autocomplete: "off" })];
  });
  const use = el(
    "button",
    { class: remedy ? "main" : "" },
    fields.length > 1 ? "Use these words" : "Use this word",
  );
  const form = el(
    "form",
    { class: "adding" },
    ...fields.map(([, title, field]) => el("p", {}, el("label", {}, `In ${title}`, field))),
    el("p", {}, use),
    remedy ? el("p", { class: "remedy" }, remedy) : null,
  );
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    for (const [, , field] of fields) field.value = field.value.trim();
    if (!form.reportValidity()) return;
    use.disabled = true;
    try {
      const words = Object.fromEntries(fields.map(([tag, , field]) => [tag, field.value]));
      const { lines } = await send("/api/label", { size, name, label: key, words });
      by("lines").replaceChildren(...lines.map((line) => el("li", {}, line)));
      by("wrong").hidden = true;
      by("main").focus();
      await lookAgain();
    } catch (problem) {
      use.disabled = false;
      wrong(problem);
    }
  });
  return form;
}

/** Labels that the check says something of, which stand there. */
let told = new Set();

function show(found) {
  told = new Set(found.filter((one) => one.label).map((one) => one.label.key));
  for (const old of by("sheet").querySelectorAll(".pin, .frame")) old.remove();
  by("found").replaceChildren(
    ...found.map((one, index) =>
      el(
        "li",
        { id: `finding-${index + 1}` },
        el("strong", {}, `${index + 1}. ${one.element || "The page"}`),
        ` ${one.words}`,
        one.label
          ? labelForm(one.label, "Or take the name off in your drawing: then it prints as drawn.")
          : el("p", { class: "remedy" }, one.remedy),
      ),
    ),
  );
  if (!found.length) by("found").replaceChildren(el("li", {}, "Nothing to mend."));
  by("sheet").append(...found.flatMap((one, index) => pin(one, index + 1)));
  by("mend").hidden = !found.some((one) => one.mendable);
}

const SPACE = "http://www.w3.org/2000/svg";
const TAG_PX = 15;

/** Marks the keys where they are; their names stand beside the page, each with a line to its box. */
async function markKeys() {
  if (!by("picture").naturalWidth) return;
  const { keys, labels } = await ask(`/api/drawing/${size}/${name}/keys`);
  for (const old of by("called").querySelectorAll(".key, .tag, .lines")) old.remove();
  const marks = keys.map(({ key, place }) => {
    const box = el("div", { class: "key", style: spot(place), title: key });
    const tag = el("span", { class: "tag" }, key);
    const line = document.createElementNS(SPACE, "polyline");
    const point = (on) => () => {
      for (const one of [box, tag, line]) one.classList.toggle("pointed", on);
    };
    for (const one of [box, tag]) {
      one.addEventListener("mouseenter", point(true));
      one.addEventListener("mouseleave", point(false));
    }
    by("sheet").append(box);
    return { box, tag, line };
  });
  const lines = document.createElementNS(SPACE, "svg");
  lines.setAttribute("class", "lines");
  lines.setAttribute("aria-hidden", "true");
  lines.append(...marks.map((one) => one.line));
  by("called").append(lines, ...marks.map((one) => one.tag));
  const others = new Set(keys.map((one) => one.key).filter((key) => !key.startsWith("label-")));
  by("key-list").replaceChildren(...[...others].map((key) => el("li", {}, key)));
  by("key-names").hidden = !others.size;
  const rest = labels.filter((one) => !told.has(one.key));
  const open = new Set([...by("label-list").querySelectorAll("[open]")].map((one) => one.id));
  by("label-list").replaceChildren(
    ...rest.map((one) => {
      const id = `says-${one.key}`;
      const named = el("span", { class: "quiet" }, `label-${one.key}`);
      const summary = el("summary", {}, one.words[0].said || one.drawn, named);
      return el("details", { id, open: open.has(id) }, summary, labelForm(one));
    }),
  );
  by("label-names").hidden = !rest.length;
  beside = marks;
  setOut();
}

let beside = [];

/** Sets the names out left and right of the page, each as near its box as there is room. */
function setOut() {
  const whole = by("called").getBoundingClientRect();
  const page = by("sheet").getBoundingClientRect();
  const placed = beside.map((one) => {
    const box = one.box.getBoundingClientRect();
    const middle = box.left + box.width / 2 - page.left;
    return { ...one, at: box, isLeft: middle < page.width / 2 };
  });
  for (const isLeft of [true, false]) {
    const column = placed.filter((one) => one.isLeft === isLeft);
    column.sort((one, other) => one.at.top - other.at.top || one.at.left - other.at.left);
    const tops = column.map((one) => one.at.top - whole.top);
    for (let n = 1; n < tops.length; n++) tops[n] = Math.max(tops[n], tops[n - 1] + TAG_PX);
    let lowest = whole.height - TAG_PX;
    for (let n = tops.length - 1; n >= 0; n--) {
      tops[n] = Math.min(tops[n], lowest);
      lowest = tops[n] - TAG_PX;
    }
    for (const [n, one] of column.entries()) {
      one.tag.className = isLeft ? "tag left" : "tag right";
      one.tag.style.top = `${tops[n]}px`;
      const edge = isLeft ? page.left - whole.left - 6 : page.right - whole.left + 6;
      const end = (isLeft ? one.at.left : one.at.right) - whole.left;
      const high = one.at.top - whole.top + Math.min(one.at.height, 14) / 2;
      const out = isLeft ? page.left - whole.left : page.right - whole.left;
      const turn = `${edge},${tops[n] + TAG_PX / 2} ${out},${high}`;
      one.line.setAttribute("points", `${turn} ${end},${high}`);
    }
  }
}
new ResizeObserver(setOut).observe(by("called"));

/** Shows the page as it is now; while that can't be drawn, what was drawn last stays. */
async function draw(source) {
  const { alt } = by("picture");
  const next = el("img", { id: "picture", alt, src: source });
  const isDrawn = await next.decode().then(
    () => true,
    () => false,
  );
  if (isDrawn) by("picture").replaceWith(next);
  by("sheet").classList.remove("awaited");
  by("sheet").classList.toggle("undrawn", !by("picture").naturalWidth);
  by("undrawn").hidden = isDrawn;
  by("undrawn").textContent = by("picture").naturalWidth
    ? "This is the page as it was: as it is now it can't be drawn."
    : "This page can't be drawn.";
}

/** The page is there before anybody has looked for findings on it. */
const seen = () => by("sheet").classList.remove("awaited");
if (by("picture").naturalWidth) seen();
else by("picture").addEventListener("load", seen, { once: true });

async function look() {
  const first = version === "";
  const answer = await ask(`/api/drawing/${size}/${name}`);
  const findings = JSON.stringify(answer.findings);
  const isSaved = answer.version !== version;
  if (!isSaved && findings === said) return;
  version = answer.version;
  said = findings;
  if (isSaved) await draw(`${ROOT}/picture/drawing/${size}/${name}/130?v=${version}`);
  if (!isSaved) say("The check says something else now.");
  else if (!first && by("undrawn").hidden) say("The page was saved; this is how it is now.");
  show(answer.findings);
  if (by("undrawn").hidden) await markKeys();
}

let isUnread = false;

/** Looks again, and takes back what was said while the page could not be read. */
async function lookAgain() {
  try {
    await look();
    if (isUnread) by("wrong").hidden = true;
    isUnread = false;
  } catch (problem) {
    isUnread = true;
    by("sheet").classList.remove("awaited");
    wrong(problem);
  }
}

function wrong(problem) {
  by("wrong").textContent = problem.message;
  by("wrong").hidden = false;
}

by("show").addEventListener("click", async () => {
  try {
    by("where").textContent =
      `It is in ${(await send("/api/show-drawing", { size, name })).folder}`;
  } catch (problem) {
    by("where").textContent = problem.message;
  }
});
/** Shows the page as it is and as it would be, and does it only when that is wanted. */
async function tryOut(to, title, after, words, act) {
  by("wrong").hidden = true;
  by("lines").replaceChildren();
  by("trial").hidden = false;
  by("trial-title").textContent = title;
  by("after-title").textContent = after;
  by("do").textContent = words;
  by("before").src = by("picture").src;
  const address = `/drawing/${size}/${name}/as/${to}`;
  const picture = el("img", {
    alt: `The page ${after}`,
    src: `${ROOT}/picture${address}?v=${version}`,
  });
  by("after").replaceChildren(picture);
  awaited(by("after"), picture);
  by("do").onclick = async () => {
    by("do").disabled = true;
    try {
      by("lines").replaceChildren(...(await act()).map((line) => el("li", {}, line)));
      closeTrial();
    } catch (problem) {
      wrong(problem);
    }
    by("do").disabled = false;
  };
  by("trial-lines").replaceChildren(el("li", { class: "waiting" }, "Trying it out…"));
  by("trial-title").focus();
  try {
    const { lines } = await ask(`/api${address}`);
    by("trial-lines").replaceChildren(...lines.map((line) => el("li", {}, line)));
  } catch (problem) {
    closeTrial();
    wrong(problem);
  }
}

function closeTrial() {
  by("trial").hidden = true;
  by("main").focus();
}

by("leave").addEventListener("click", closeTrial);
by("keys").addEventListener("change", () => {
  by("called").classList.toggle("plain", !by("keys").checked);
  setOut();
});
by("mend").addEventListener("click", () =>
  tryOut("mended", "Mend this page?", "mended", "Mend it", async () => {
    const { mended } = await send("/api/mend", { size, name });
    await look();
    return [`${mended} mended in the file.`];
  }),
);
by("resize")?.addEventListener("submit", (event) => {
  event.preventDefault();
  const to = by("to").value;
  const called = by("to").selectedOptions[0].textContent;
  tryOut(to, `Draw it again for ${called}?`, `for ${called}`, "Make the page", async () => {
    const made = await send("/api/resize", { size, names: [name], to });
    const link = el("a", { href: `${ROOT}/drawing/${to}/${name}` }, "Look at the new page.");
    return [...made.lines, link];
  });
});
by("sheet").classList.add("awaited");
await lookAgain();
setInterval(() => document.hidden || lookAgain(), 1500);
