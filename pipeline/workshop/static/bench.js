// What the packs asked for take together.
import { by } from "/static/common.js";

/** Sheets that are cut at once at most (common practice: 50 of 80 g/m²). */
const STACK = 50;
const rows = [...document.querySelectorAll("#packs tbody tr[data-sheets]")];

function reckon() {
  const sum = { packs: 0, sheets: 0, cuts: 0, folds: 0, leaves: 0, cost: 0 };
  const spare = 1 + (Number(by("spare").value) || 0) / 100;
  const price = Number(by("price").value) || 0;
  for (const row of rows) {
    const packs = Math.max(0, Math.floor(Number(row.querySelector("input").value) || 0));
    const sheets = Math.ceil(packs * Number(row.dataset.sheets) * spare);
    const each = {
      packs,
      sheets,
      cuts: Math.ceil(sheets / STACK) * Number(row.dataset.cuts),
      folds: packs * Number(row.dataset.folds),
      leaves: packs * Number(row.dataset.leaves),
      cost: sheets * price,
    };
    for (const [name, value] of Object.entries(each)) {
      sum[name] += value;
      const cell = row.querySelector(`.${name}`);
      if (cell) cell.textContent = packs ? said(name, value) : "";
    }
  }
  for (const [name, value] of Object.entries(sum))
    by(`all-${name}`).textContent = said(name, value);
}

function said(name, value) {
  return name === "cost" ? value.toFixed(2) : String(value);
}

by("packs").addEventListener("input", reckon);
by("price").addEventListener("input", reckon);
by("spare").addEventListener("input", reckon);
reckon();
