import { by, send } from "/static/common.js";

const ticked = (name) =>
  [...document.querySelectorAll(`input[name="${name}"]:checked`)].map((one) => one.value);

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
    });
    location.assign(`/season/${made.season}/`);
  } catch (problem) {
    by("wrong").textContent = problem.message;
    by("wrong").hidden = false;
    by("make").disabled = false;
    by("making").textContent = "";
  }
});
