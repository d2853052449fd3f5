// Listens to what is built again while somebody draws: tells the page, and what there is to mend.

import { ROOT, by, count, el, say, send } from "./common.js";

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
  const words = by("watching-words");
  const isStopped = report.stopped && report.done < report.whole;
  if (report.building) {
    const far = report.whole > 1 ? ` · ${report.done} of ${report.whole}` : "";
    words.textContent = `${report.building}${far}`;
  } else if (isStopped) {
    words.textContent = `Stopped: ${report.done} of ${count(report.whole, "set", "sets")} built`;
  } else if (building) {
    const at = new Date().toLocaleTimeString(undefined, { timeStyle: "medium" });
    words.textContent = `Watching · all built at ${at}`;
  } else words.textContent = "Watching";
  by("building").hidden = !report.building || report.whole < 2;
  by("building").max = report.whole || 1;
  by("building").value = report.done;
  if (ROOT) {
    by("stop-building").hidden = !report.building || report.stopped;
    by("go-on-building").hidden = !isStopped;
  }
  by("watching").classList.toggle("busy", report.building !== "");
  building = report.building !== "";
}

for (const way of ["stop", "go-on"]) {
  by(`${way}-building`)?.addEventListener("click", async () => {
    await send(`/api/building/${way}`, {});
    say(way === "stop" ? "Stopped; what is built stays." : "Goes on.");
  });
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
    by("watching-words").textContent = "Not watching: the desk does not answer";
  };
}

document.addEventListener("visibilitychange", listen);
addEventListener("pagehide", () => source?.close());
listen();
