import { by } from "./common.js";

const { set } = by("main").dataset;
document.addEventListener("updates", ({ detail }) => {
  if (detail.files?.[set]) location.reload();
});
