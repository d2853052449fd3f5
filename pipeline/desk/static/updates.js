// Listens to what is built again while somebody draws: tells the page, and what there is to mend.

import { ROOT, by, count, el, say } from "./common.js";

let problems = "";
let building = false;
let source = null;

function showProblems(list) {
  const now = JSON.stringify(list);
  if (now === problems) return;
  const before = problems;
  problems = now;
  const banner = by("problems");
  banner.hidden = list.length === 0;
  by("problem-list").replaceChildren(
    ...list.map((one) =>
      el(
        "li",
        { dir: "auto" },
        el("strong", {}, one.where),
        " ",
        one.what,
        one.remedy ? el("span", { class: "remedy" }, ` ${one.remedy}`) : null,
      ),
    ),
  );
  by("problems-title").textContent = list.length
    ? `${count(list.length, "thing", "things")} to mend; what you see is as it was before`
    : "";
  if (before && !list.length) say("Mended.");
}

function showWork(report) {
  const pill = by("watching");
  if (report.building) pill.textContent = report.building;
  else if (building) {
    const at = new Date().toLocaleTimeString(undefined, { timeStyle: "medium" });
    pill.textContent = `Watching · all built at ${at}`;
  } else pill.textContent = "Watching";
  pill.classList.toggle("busy", report.building !== "");
  building = report.building !== "";
}

function heard(event) {
  const report = JSON.parse(event.data);
  showProblems(report.problems);
  showWork(report);
  document.dispatchEvent(new CustomEvent("updates", { detail: report }));
}

/** Browsers allow few lasting connections, so a page that nobody sees has none. */
function listen() {
  source?.close();
  source = null;
  if (document.hidden) return;
  source = new EventSource(`${ROOT}/api/updates`);
  source.onmessage = heard;
  source.onerror = () => {
    by("watching").textContent = "Not watching: the desk does not answer";
  };
}

document.addEventListener("visibilitychange", listen);
addEventListener("pagehide", () => source?.close());
listen();
