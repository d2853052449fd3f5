import { ask, awaited, by, say } from "./common.js";

const list = by("sheets");
const EXPLAINED = {
  sides: "Side 1 and side 2 as the printer gets them.",
  light:
    "Side 1 with side 2 shining through, turned over as the sheet is: crop, fold and punch " +
    "marks of both sides must meet.",
};

for (const sheet of list.children) {
  const { width, height, across } = sheet.dataset;
  for (const paper of sheet.querySelectorAll(".paper")) {
    paper.style.aspectRatio = `${width} / ${height}`;
    awaited(paper, paper.querySelector("img"));
  }
  sheet.querySelector(".two img").classList.add(across === "yes" ? "over-x" : "over-y");
}

function show() {
  const mode = document.querySelector("[name=mode]:checked").value;
  list.classList.toggle("light", mode === "light");
  by("light-row").hidden = mode !== "light";
  by("explained").textContent = EXPLAINED[mode];
  for (const image of list.querySelectorAll(".two img")) {
    image.style.opacity = mode === "light" ? by("light").value / 100 : 1;
  }
}

for (const input of document.querySelectorAll("[name=mode]")) {
  input.addEventListener("change", show);
}
by("light").addEventListener("input", show);
// Built again: the same sheets get their new pictures where they are.
let shown = by("main").dataset.files;
document.addEventListener("updates", async ({ detail }) => {
  const now = detail.files?.[by("main").dataset.set];
  if (!now || now === shown) return;
  shown = now;
  const about = await ask(`/api/set/${by("main").dataset.set}`);
  if (about.sheets !== list.children.length) location.reload();
  for (const image of list.querySelectorAll("img")) {
    image.src = image.getAttribute("src").replace(/v=.*/, `v=${now}`);
  }
  say("Refreshed.");
});

document.addEventListener("keydown", (event) => {
  if (event.key.toLowerCase() !== "l" || event.ctrlKey || event.metaKey || event.altKey) return;
  const other = document.querySelector("[name=mode]:not(:checked)");
  other.checked = true;
  show();
});
show();
