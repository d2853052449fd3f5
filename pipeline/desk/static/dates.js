import { ROOT, ask, by, count, el } from "./common.js";

const { set, files } = by("main").dataset;

function cell(day, index, widest) {
  const date = `${day.expected} ${day.month}`;
  const shown = day.found
    ? el("img", {
        loading: "lazy",
        src: `${ROOT}/picture/${set}/date/${index}/${day.date}?v=${files}`,
        alt: `On the page: ${day.found}`,
        // All days enlarged alike, so that a larger or smaller one is seen.
        style: { width: `${(100 * day.width_mm) / widest}%` },
      })
    : el("span", { class: "missing" }, "not on the page");
  return el(
    "li",
    { class: day.right ? "" : "off" },
    el("div", { class: "cut" }, shown),
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
by("sum").textContent = all.length
  ? `${count(all.length, "day", "days")} on ${count(shown.length, "spread", "spreads")}` +
    (off.length ? ` · ${off.length} not as expected, marked` : " · all read back as expected")
  : "There are no days in this set.";
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
