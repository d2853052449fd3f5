import { send } from "/static/common.js";

for (const button of document.querySelectorAll("[data-name]")) {
  button.addEventListener("click", async () => {
    await send("/api/choose", { name: button.dataset.name });
    location.assign("/");
  });
}
