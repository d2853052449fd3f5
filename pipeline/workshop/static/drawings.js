import { awaited, by, el, send } from "/static/common.js";

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
