import { ROOT, ask, awaited, by, count, el, say } from "./common.js";

const { set, files } = by("main").dataset;

function cell(day, index, widest) {
  const date = `${day.expected} ${day.month}`;
  const shown = day.found
    ? el("img", {
        src: `${ROOT}/picture/${set}/date/${index}/${day.date}?v=${files}`,
        alt: `On the page: ${day.found}`,
        // All days enlarged alike, so that a larger or smaller one is seen.
        style: { width: `${(100 * day.width_mm) / widest}%` },
      })
    : el("span", { class: "missing" }, "not on the page");
  const cut = el("div", { class: "cut" }, shown);
  if (day.found) awaited(cut, shown, tell);
  return el(
    "li",
    { class: day.right ? "" : "off" },
    cut,
    el("p", { dir: "auto" }, date),
    day.right
      ? null
      : el("p", { class: "read" }, day.found ? `reads “${day.found}”` : "look for it"),
  );
}

document.addEventListener("updates", ({ detail }) => {
  if (detail.files?.[set] && detail.files[set] !== files) location.reload();
});

const [views, about] = await Promise.all([ask(`/api/set/${set}/dates`), ask(`/api/set/${set}`)]);
const shown = views
  .map((days, index) => ({ days, view: about.views[index], index }))
  // Pages that show no day at all, such as lists, have nothing to read here.
  .filter(({ days }) => days.some((day) => day.figure));
const all = shown.flatMap(({ days }) => days);
const off = all.filter((day) => !day.right);
const widest = Math.max(...all.map((day) => day.width_mm));
/** Says how it stands once all of it can be seen. */
function tell() {
  const waiting = document.querySelectorAll(".awaited").length;
  const found = all.filter((day) => day.found).length;
  const undrawn = found - document.querySelectorAll(".cut img").length;
  const parts = [];
  if (off.length) parts.push(`${off.length} not as expected, marked`);
  if (undrawn) parts.push(`${undrawn} could not be drawn`);
  const days = `${count(all.length, "day", "days")} on ${count(shown.length, "spread", "spreads")}`;
  if (!all.length) by("sum").textContent = "There are no days in this set.";
  else if (waiting) by("sum").textContent = `${days} · drawing, ${waiting} to go…`;
  else {
    by("sum").textContent = [days, ...(parts.length ? parts : ["all read back as expected"])].join(
      " · ",
    );
    say(by("sum").textContent);
  }
}

by("dates").replaceChildren(
  ...shown.map(({ days, view, index }) =>
    el(
      "section",
      { "aria-labelledby": `view-${index}` },
      el(
        "h2",
        { id: `view-${index}`, dir: "auto" },
        el("a", { href: `${ROOT}/set/${set}#${index + 1}` }, view.title),
      ),
      el("ol", { class: "strip" }, ...days.map((day) => cell(day, index, widest))),
    ),
  ),
);
tell();
