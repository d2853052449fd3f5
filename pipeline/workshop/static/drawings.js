import { ask, awaited, by, count, el, send, sign } from "/static/common.js";

/** A name as the file has it: small letters, and a hyphen for each gap. */
const asFileName = (typed) =>
  typed
    .trim()
    .toLowerCase()
    .replaceAll(/[\s_-]+/g, "-");

by("new-page").addEventListener("submit", async (event) => {
  event.preventDefault();
  by("wrong").hidden = true;
  try {
    const made = await send("/api/new-page", {
      kind: by("kind").value,
      size: by("new-size").value,
      name: asFileName(by("new-name").value),
      side: by("side").value,
      flap_mm: Number(by("flap").value),
    });
    by("lines").replaceChildren(...made.lines.map((line) => el("li", {}, line)));
    if (!made.lines.length) location.reload();
  } catch (problem) {
    by("wrong").textContent = problem.message;
    by("wrong").hidden = false;
  }
});

for (const image of document.querySelectorAll(".drawing img")) awaited(image.parentElement, image);

// What the check says of each page, one after the other, and the worst of them first.

/** The kinds of findings, the worst first, in words. */
const KINDS = { mend: "to mend", look: "to look at", note: "to know" };
const pages = [...document.querySelectorAll(".drawing a[data-name]")];
const said = new Map();

const counted = (findings) =>
  Object.keys(KINDS).map((kind) => findings.filter((one) => one.severity === kind).length);

/** How many findings of each kind, in words: "2 to mend, 1 to look at". */
const inWords = (findings) =>
  counted(findings)
    .map((some, at) => (some ? `${some} ${Object.values(KINDS)[at]}` : ""))
    .filter(Boolean)
    .join(", ");

/** The order of pages: those with most to mend first, then with most to look at. */
function byWorst([, one], [, other]) {
  const [mine, others] = [counted(one), counted(other)];
  return others.map((some, at) => some - mine[at]).find((more) => more !== 0) ?? 0;
}

function mark(link, findings) {
  link.querySelector(".badge")?.remove();
  if (!findings.length) return;
  const kind = counted(findings)[0] ? "sent-back" : "finding";
  link.append(el("span", { class: `badge ${kind}` }, sign("finding"), inWords(findings)));
}

function tell() {
  const wrong = [...said].filter(([, findings]) => findings.length);
  wrong.sort(byWorst);
  const looked = `${said.size} of ${count(pages.length, "page", "pages")} looked through`;
  const found = wrong.length
    ? `findings on ${count(wrong.length, "page", "pages")}, the worst first`
    : "nothing to mend";
  by("sum").textContent = `${looked}: ${found}.`;
  by("worst").replaceChildren(
    ...wrong.map(([link, findings]) =>
      el(
        "li",
        {},
        el("a", { href: link.href }, link.dataset.name),
        el("span", { class: "quiet" }, link.dataset.title),
        el("span", {}, inWords(findings)),
      ),
    ),
  );
}

for (const link of pages) {
  link.dataset.title = link.querySelector("span").textContent;
  try {
    const { findings } = await ask(`/api/drawing/${link.dataset.size}/${link.dataset.name}`);
    said.set(link, findings);
    mark(link, findings);
    tell();
  } catch (problem) {
    by("sum").textContent = problem.message;
  }
}
