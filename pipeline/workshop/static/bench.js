// What the packs asked for take together, as the program reckons it.
import { ROOT, by, el, send } from "/static/common.js";

const NAMES = ["sheets", "strokes", "punch", "folds", "minutes", "cost"];
const rows = [...document.querySelectorAll("#packs tbody tr[data-name]")];
const trimmer = by("trimmer");

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

/** Writes a change into the season file, and shows what is in it then. */
async function write(change) {
  by("tools-wrong").hidden = true;
  try {
    const now = await send("/api/plan", { version: by("prices").dataset.version, change });
    by("prices").dataset.version = now.version;
    showTools(now.bench);
    reckon(false);
    return true;
  } catch (problem) {
    by("tools-wrong").textContent = problem.message;
    by("tools-wrong").hidden = false;
    return false;
  }
}

const number = (value, label, more, change) => {
  const input = el("input", { type: "number", step: "any", value, ...more });
  input.addEventListener("change", () => input.checkValidity() && change(input));
  return el("label", {}, label, input);
};

const takeOut = (label, act) =>
  el("button", { type: "button", "aria-label": label, onclick: act }, "Take out");

function showTools({ trimmers, postage }) {
  const chosen = trimmer.value;
  trimmer.replaceChildren(...trimmers.map(({ name }) => el("option", {}, name)));
  if (trimmers.some(({ name }) => name === chosen)) trimmer.value = chosen;
  by("cut-with").hidden = trimmers.length < 2;
  by("trimmers").replaceChildren(
    ...trimmers.map((one) => {
      const change = (more) => write({ do: "trimmer", ...one, ...more });
      const [sheets, cut] = ["Sheets at once", "Longest cut, mm"];
      return el(
        "li",
        { class: "adding" },
        el(
          "p",
          {},
          el("strong", {}, one.name),
          number(one.sheets, sheets, { min: 1, max: 1000, step: 1 }, (input) =>
            change({ sheets: Number(input.value) }),
          ),
          number(one.cut_mm ?? "", cut, { min: 1, max: 3000 }, (input) =>
            change({ cut_mm: input.value === "" ? null : Number(input.value) }),
          ),
          takeOut(`Take out the trimmer ${one.name}`, () =>
            write({ do: "without", what: "trimmer", name: one.name }),
          ),
        ),
      );
    }),
  );
  const rewrite = (rows) => write({ do: "postage", rows });
  by("postage").replaceChildren(
    ...postage.map((row, at) => {
      const changed = (place) => (input) =>
        rewrite(postage.with(at, row.with(place, Number(input.value))));
      return el(
        "li",
        { class: "adding" },
        el(
          "p",
          {},
          number(row[0], "Up to, g", { min: 0, required: true }, changed(0)),
          number(row[1], "Costs", { min: 0, required: true }, changed(1)),
          takeOut(`Take out postage up to ${row[0]} g`, () => rewrite(postage.toSpliced(at, 1))),
        ),
      );
    }),
  );
  by("new-postage").onsubmit = async (event) => {
    event.preventDefault();
    const row = [Number(by("postage-g").value), Number(by("postage-price").value)];
    if (await rewrite([...postage, row])) by("new-postage").reset();
  };
}

by("new-trimmer").addEventListener("submit", async (event) => {
  event.preventDefault();
  const typed = by("trimmer-name").value.trim().toLowerCase();
  const change = {
    do: "trimmer",
    name: typed.replaceAll(/[\s_-]+/g, "-"),
    sheets: Number(by("trimmer-sheets").value),
    cut_mm: by("trimmer-cut").value === "" ? null : Number(by("trimmer-cut").value),
  };
  if (await write(change)) by("new-trimmer").reset();
});
showTools(JSON.parse(by("tools").dataset.held));

for (const input of document.querySelectorAll("#prices [data-field]"))
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
    const reckoned = await send("/api/bench", { packs, trimmer: trimmer.value, sheet });
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
trimmer.addEventListener("change", later);
by("sheet").addEventListener("click", () => reckon(true));
reckon(false); // what was typed before this was loaded
