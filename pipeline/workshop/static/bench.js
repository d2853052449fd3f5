// What the packs asked for take together, as the program reckons it.
import { by, send } from "/static/common.js";

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
  } catch (problem) {
    if (mine === last) by("state").textContent = problem.message;
  }
}

let soon = 0;
function later() {
  clearTimeout(soon);
  soon = setTimeout(() => reckon(false), 250);
}
by("packs").addEventListener("input", later);
trimmer?.addEventListener("change", later);
by("sheet").addEventListener("click", () => reckon(true));
reckon(false); // what was typed before this was loaded
