// What the packs asked for take together, as the program reckons it.
import { ROOT, by, el, send } from "/static/common.js";

const NAMES = ["sheets", "strokes", "punch", "folds", "minutes", "cost"];
const rows = [...document.querySelectorAll("#packs tbody tr[data-name]")];
const trimmer = document.getElementById("trimmer");

function asked() {
  const counts = rows.map((row) => [
    row.dataset.name,
    Math.max(0, Math.floor(Number(row.querySelector("input").value) || 0)),
  ]);
  return Object.fromEntries(counts.filter(([, count]) => count > 0));
}

function show({ packs, together }) {
  const found = new Map(packs.map((one) => [one.name, one]));
  for (const row of rows)
    for (const name of NAMES)
      row.querySelector(`.${name}`).textContent = found.get(row.dataset.name)?.[name] ?? "";
  for (const name of NAMES) by(`all-${name}`).textContent = together[name] ?? "";
}

/** Shows the sheet that was made, all its pages. */
function showPages(count) {
  const made = Date.now();
  const numbers = [...Array(count).keys()];
  by("sheet-pages").replaceChildren(
    ...numbers.map((page) => {
      const image = el("img", {
        alt: `The sheet for the bench, page ${page + 1}`,
        src: `${ROOT}/picture/bench-sheet/${page}?at=${made}`,
      });
      return el("div", { class: "sheet" }, image);
    }),
  );
}

for (const button of document.querySelectorAll("#packs .show"))
  button.addEventListener("click", async () => {
    try {
      const { folder } = await send("/api/show-set", { name: button.dataset.name });
      by("state").textContent = `They are in ${folder}`;
    } catch (problem) {
      by("state").textContent = problem.message;
    }
  });

for (const input of document.querySelectorAll("#prices input"))
  input.addEventListener("change", async () => {
    const { field } = input.dataset;
    const value = field === "money" ? input.value.trim() : Number(input.value);
    const change = { do: "bench", field, value: input.value.trim() === "" ? null : value };
    try {
      const now = await send("/api/plan", { version: by("prices").dataset.version, change });
      by("prices").dataset.version = now.version;
      await reckon(false);
    } catch (problem) {
      by("state").textContent = problem.message;
    }
  });

let last = 0;
async function reckon(sheet) {
  const packs = asked();
  const count = Object.values(packs).reduce((sum, one) => sum + one, 0);
  const mine = ++last;
  by("all-packs").textContent = count || "";
  by("sheet").disabled = !count;
  by("made").hidden = true;
  by("state").textContent = "";
  if (!count) return show({ packs: [], together: {} });
  try {
    const reckoned = await send("/api/bench", { packs, trimmer: trimmer?.value ?? "", sheet });
    if (mine !== last) return;
    show(reckoned);
    by("made").hidden = !sheet;
    by("sheet-pages").hidden = !sheet;
    if (sheet) showPages(reckoned.pages);
  } catch (problem) {
    if (mine === last) by("state").textContent = problem.message;
  }
}

let soon = 0;
function later() {
  clearTimeout(soon);
  soon = setTimeout(() => reckon(false), 250);
}
// What was not built a moment ago may be now.
document.addEventListener("updates", () => by("state").textContent && later());
by("packs").addEventListener("input", later);
trimmer?.addEventListener("change", later);
by("sheet").addEventListener("click", () => reckon(true));
reckon(false); // what was typed before this was loaded
