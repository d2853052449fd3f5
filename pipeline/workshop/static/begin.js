import { by, send } from "/static/common.js";

const ticked = (name) =>
  [...document.querySelectorAll(`input[name="${name}"]:checked`)].map((one) => one.value);

by("begin").addEventListener("submit", async (event) => {
  event.preventDefault();
  by("make").disabled = true;
  by("wrong").hidden = true;
  try {
    const made = await send("/api/begin", {
      title: by("title").value.trim(),
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
  }
});
