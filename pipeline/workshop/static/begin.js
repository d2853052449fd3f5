import { by, send } from "/static/common.js";

const ticked = (name) =>
  [...document.querySelectorAll(`input[name="${name}"]:checked`)].map((one) => one.value);

/** The first day of the month that is so many after one, which is written as "2027-03". */
function monthAfter(first, more) {
  const [year, number] = first.split("-").map(Number);
  return new Date(Date.UTC(year, number - 1 + more, 1));
}

const named = new Intl.DateTimeFormat("en-GB", { month: "long", timeZone: "UTC" });
const dated = new Intl.DateTimeFormat("en-GB", { month: "long", year: "numeric", timeZone: "UTC" });
let ownTitle = false;

/** Says which sets will be made; the season is called by its months until somebody names it. */
function months() {
  const [first, many] = [by("first").value, Number(by("months").value)];
  const last = monthAfter(first, many - 1);
  const span = dated.formatRange(monthAfter(first, 0), last);
  const each = Array.from({ length: many }, (_, at) => named.format(monthAfter(first, at)));
  by("first-sets").textContent =
    many === 1
      ? `One set is made: ${span}.`
      : `A set for each month is made, ${many} in all: ${each.slice(0, -1).join(", ")} and ${each.at(-1)} ${last.getUTCFullYear()}.`;
  if (!ownTitle) by("season").value = span;
}
for (const id of ["first", "months"]) by(id).addEventListener("change", months);
by("season").addEventListener("input", () => {
  ownTitle = by("season").value.trim() !== "";
});
months();

by("title").addEventListener("input", () => {
  by("wrong").hidden = true;
});

by("begin").addEventListener("submit", async (event) => {
  event.preventDefault();
  by("make").disabled = true;
  by("wrong").hidden = true;
  by("making").textContent = "Making the folder…";
  try {
    const made = await send("/api/begin", {
      title: by("title").value.trim(),
      season: by("season").value.trim(),
      sizes: ticked("sizes"),
      papers: ticked("papers"),
      languages: ticked("languages"),
      first_weekday: by("weekday").value,
      first: by("first").value,
      months: Number(by("months").value),
    });
    location.assign(`/season/${made.season}/`);
  } catch (problem) {
    by("wrong").textContent = problem.message;
    by("wrong").hidden = false;
    by("title").focus();
    by("make").disabled = false;
    by("making").textContent = "";
  }
});
