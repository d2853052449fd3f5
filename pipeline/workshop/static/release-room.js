import "./orders.js";
import { ROOT, ask, awaited, by, count, el, say, send } from "/static/common.js";

function row(one, ...more) {
  return el(
    "li",
    {},
    el(
      "a",
      { dir: "auto", href: `${ROOT}/set/${one.name}` },
      [one.title, one.period].filter(Boolean).join(", "),
      el("small", {}, one.edition || one.name),
    ),
    el("span", {}, ...more),
  );
}

/** The names of sets that are passed and are to wait. */
const waiting = new Set();
/** The set that somebody came from to release it: all others wait, until they are ticked. */
let cameFrom = new URLSearchParams(location.search).get("only");

/** A set that can go out, ticked if it is to go now. */
function choice(one) {
  const box = el("input", { type: "checkbox", value: one.name, checked: !waiting.has(one.name) });
  box.addEventListener("change", () => {
    waiting[box.checked ? "delete" : "add"](one.name);
    drawReady(about);
  });
  const told = row(one, `goes out as version ${one.next}${one.again ? `; ${one.again}` : ""}`);
  const [called] = told.children;
  box.setAttribute(
    "aria-label",
    `Release ${[...called.childNodes].map((node) => node.textContent).join(", ")}`,
  );
  const first = el("span", { class: "tick" }, box);
  told.prepend(first);
  first.append(called);
  return told;
}

/** Those of the sets that are to go out now. */
function chosen() {
  return about.ready.map((one) => one.name).filter((name) => !waiting.has(name));
}

function drawReady({ ready, out, other_words, unsaid }) {
  const going = chosen().length;
  const all = going === ready.length;
  by("ready-words").textContent = !ready.length
    ? other_words
      ? "Nothing is passed that isn’t out already, but the words for buyers or the shop are others now: make it once more."
      : "Nothing is passed that isn’t out already."
    : all
      ? `${count(ready.length, "set is", "sets are")} passed and not out.`
      : going
        ? `${going} of ${ready.length} sets that are passed ${going === 1 ? "goes" : "go"} out now; the rest waits.`
        : "Tick below which sets are to go out now.";
  by("make").disabled = making || (ready.length ? !going : !out.length);
  by("make").textContent = !ready.length
    ? "Make it once more"
    : all
      ? "Make it"
      : "Make what is ticked";
  by("make").classList.toggle("main", ready.length > 0 || Boolean(other_words));
  by("page").classList.toggle("main", !ready.length && !other_words);
  by("unsaid").hidden = !unsaid || !ready.length;
  by("tick-all").hidden = ready.length < 2;
  by("tick-all").textContent = all ? "Tick none" : "Tick all";
  const key = JSON.stringify([ready, [...waiting]]);
  if (by("ready").dataset.key === key) return;
  by("ready").dataset.key = key;
  const held = document.activeElement?.closest("#ready") ? document.activeElement.value : "";
  list("ready", ready.map(choice), "None.");
  for (const box of by("ready").querySelectorAll("input")) if (box.value === held) box.focus();
}

by("tick-all").addEventListener("click", () => {
  const all = chosen().length === about.ready.length;
  waiting.clear();
  if (all) for (const one of about.ready) waiting.add(one.name);
  drawReady(about);
});

function list(id, rows, none) {
  by(id).replaceChildren(...(rows.length ? rows : [el("li", { class: "quiet" }, none)]));
}

const SAID = {
  stopped: "Stopped. What was finished is kept; making it again goes on from there.",
  "broken off": "The last release broke off. What was finished is kept; make it again to go on.",
};

function work(said) {
  const making = said.state === "making";
  by("bar").hidden = !making;
  by("stop").hidden = !making;
  if (making) {
    by("bar").max = said.whole || 1;
    by("bar").value = said.done;
    by("work").textContent = said.whole
      ? `${said.done} of ${said.whole} ${said.what}`
      : "Looking at what is passed…";
  } else if (said.state === "done") {
    by("work").textContent = `Made: ${count(said.out.length, "set is", "sets are")} out.`;
  } else if (said.state === "failed") by("work").textContent = said.problem;
  else by("work").textContent = SAID[said.state] ?? "";
  const notes = said.state === "done" ? said : { held: [], without_pictures: [], advice: [] };
  // What only waits to be passed stands below.
  const held = notes.held.filter(([, why]) => !why.startsWith("not passed yet")).slice(0, 12);
  by("notes").replaceChildren(
    ...held.map(([name, why]) => el("li", {}, `${name}: ${why}`)),
    ...notes.without_pictures.map(([name, why]) => el("li", {}, `No pictures of ${name}: ${why}`)),
    ...notes.advice.map((line) => el("li", {}, line)),
  );
  return making;
}

function wrong(problem) {
  by("wrong").textContent = problem.message;
  by("wrong").hidden = false;
}

let about = null;

/** Terms and directions in a language; what somebody writes is left alone. */
function drawTerms(list) {
  by("unread").hidden = !list.some((one) => one.unread);
  const key = JSON.stringify(list);
  if (by("terms").dataset.key === key || by("terms").querySelector("[open] textarea.changed"))
    return;
  const open = new Set([...by("terms").querySelectorAll("[open]")].map((one) => one.dataset.of));
  by("terms").dataset.key = key;
  by("terms").replaceChildren(
    ...list.flatMap((one) => [
      fold(`Terms in ${one.title}`, open, one.own ? "" : "English ones so far", (box) =>
        termsForm(one, box),
      ),
      fold(`Directions in ${one.title}`, open, "", (box) => directionsOf(one, box).catch(wrong)),
    ]),
  );
}

function fold(title, open, note, fill) {
  const box = el("div", {});
  const details = el(
    "details",
    { open: open.has(title) },
    el("summary", {}, title, note ? el("span", { class: "quiet" }, ` · ${note}`) : null),
    box,
  );
  details.dataset.of = title;
  const show = () => details.open && !box.childElementCount && fill(box);
  details.addEventListener("toggle", show);
  show();
  return details;
}

function termsForm(one, box) {
  const text = el("textarea", { rows: "14", dir: "auto", "aria-label": `Terms in ${one.title}` });
  text.value = one.text;
  const called = one.unread ? "They are mine: keep them" : `Save as ${one.file}`;
  const save = el("button", { type: "button", disabled: !one.unread }, called);
  text.addEventListener("input", () => {
    text.className = "changed";
    save.disabled = !text.value.trim();
  });
  save.addEventListener("click", async () => {
    try {
      about = await send("/api/terms", {
        language: one.language,
        version: one.version,
        text: text.value,
      });
      text.className = "";
      drawTerms(about.terms);
      const saved = el("span", { class: "quiet" }, "Saved: buyers get these.");
      by("terms").querySelector("[open] textarea")?.nextElementSibling.append(saved);
      say("Saved.");
    } catch (problem) {
      wrong(problem);
    }
  });
  const note = one.own
    ? "Lines that begin with # are notes to yourself; buyers do not see them."
    : `Buyers get these English terms until you write your own in ${one.title}.`;
  box.append(el("p", { class: "quiet" }, note), text, el("p", { class: "buttons" }, save));
}

async function directionsOf(one, box) {
  const note = el("p", { class: "waiting" }, "Writing them…");
  box.append(note);
  const { pages } = await ask(`/api/directions/${one.language}`);
  note.textContent = pages ? "" : "There are none before a set is built.";
  for (let page = 0; page < pages; page++) {
    const image = el("img", {
      alt: `Directions in ${one.title}, page ${page + 1}`,
      src: `${ROOT}/picture/directions/${one.language}/${page}`,
    });
    const frame = el("div", { class: "sheet" }, image);
    awaited(frame, image);
    box.append(frame);
  }
}

async function chooseKinds() {
  const boxes = [...by("kinds").querySelectorAll("input")];
  const kinds = boxes.filter((box) => box.checked).map((box) => box.value);
  const unseen = about.kinds.filter((one) => !one.offered);
  if (!kinds.length) {
    wrong(new Error("Leave one kind, or make the release without pictures."));
    for (const box of boxes) box.checked = about.kinds.find((one) => one.kind === box.value).chosen;
    return;
  }
  const all = kinds.length === boxes.length && unseen.every((one) => one.chosen);
  kinds.push(...unseen.filter((one) => one.chosen).map((one) => one.kind));
  const change = { do: "pictures", kinds: all ? null : kinds };
  try {
    await send("/api/plan", { version: about.version, change });
  } catch (problem) {
    wrong(problem);
  }
  refresh();
}

function drawPictures({ kinds, pictures }) {
  const key = JSON.stringify([kinds, pictures]);
  if (by("kinds").dataset.key === key) return;
  by("kinds").dataset.key = key;
  const held = document.activeElement?.value;
  by("kinds").replaceChildren(
    ...kinds
      .filter((one) => one.offered)
      .map(({ kind, title, chosen }) => {
        const box = el("input", { type: "checkbox", value: kind, checked: chosen });
        box.addEventListener("change", chooseKinds);
        return el("label", {}, box, ` ${title}`);
      }),
  );
  for (const box of by("kinds").querySelectorAll("input")) if (box.value === held) box.focus();
  by("made-pictures").replaceChildren(
    ...pictures.map((name) => {
      const image = el("img", { alt: "", loading: "lazy", src: `${ROOT}/released/${name}` });
      return el("li", {}, image, el("span", { class: "quiet" }, name.split("/").at(-1)));
    }),
  );
}

let making = false;
let timer = 0;
async function refresh() {
  clearTimeout(timer);
  about = await ask("/api/release");
  if (about.ready.some((one) => one.name === cameFrom)) {
    for (const one of about.ready) if (one.name !== cameFrom) waiting.add(one.name);
  }
  cameFrom = null;
  if (timer === 0 && about.terms.length) {
    ask(`/api/directions/${about.terms[0].language}`).catch(() => {}); // there when asked for
  }
  drawTerms(about.terms);
  drawPictures(about);
  making = work(about.work);
  by("made").hidden = !about.page;
  drawReady(about);
  list(
    "held",
    about.held.map((one) => row(one, one.why)),
    "None.",
  );
  list(
    "out",
    about.out.map((one) => row(one, `version ${one.version}`)),
    "None yet.",
  );
  timer = setTimeout(refresh, making ? 500 : 4000);
}

by("make").addEventListener("click", async () => {
  by("make").disabled = true;
  const only = chosen().length < about.ready.length ? chosen() : null;
  await send("/api/release", { pictures: by("pictures").checked, only });
  refresh();
});
by("read-terms").addEventListener("click", () => {
  const unread = about.terms.find((one) => one.unread);
  const box = [...by("terms").children].find(
    (one) => one.dataset.of === `Terms in ${unread.title}`,
  );
  box.open = true;
  box.scrollIntoView({ block: "center" });
  box.querySelector("summary").focus();
});
by("stop").addEventListener("click", async () => {
  await send("/api/release/stop", {});
  refresh();
});
by("folder").addEventListener("click", async () => {
  try {
    by("where").textContent = `It is ${(await send("/api/release/show", {})).folder}`;
  } catch (problem) {
    by("where").textContent = problem.message;
  }
});
document.addEventListener("updates", refresh);
refresh();
