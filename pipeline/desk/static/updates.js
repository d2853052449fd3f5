// Listens to what is built again while somebody draws: tells the page, and what there is to mend.

import { ROOT, by, count, el, say, send } from "./common.js";

const CLOSED = "closed problems";
let problems = "";
let source = null;

/** The way to the drawing that a place is in; nothing where it is in none, or none are shown. */
function drawingOf(where) {
  const [, size, name] = /([\w-]+)\/([\w-]+)\.svg/.exec(where) ?? [];
  if (!ROOT || !name) return null;
  return el("a", { href: `${ROOT}/drawing/${size}/${name}` }, "Go to the drawing");
}

function showProblems(list) {
  const now = JSON.stringify(list);
  if (now === problems) return;
  const before = problems;
  problems = now;
  by("problem-list").replaceChildren(
    ...list.map((one) =>
      el(
        "li",
        { dir: "auto" },
        el("strong", {}, one.where),
        " ",
        one.what,
        one.remedy ? el("span", { class: "remedy" }, ` ${one.remedy}`) : null,
        drawingOf(one.where),
      ),
    ),
  );
  const told = list.length ? `${count(list.length, "thing", "things")} to mend` : "";
  by("problems-title").textContent = told && `${told}; until then, what it concerns is not built`;
  by("problems-open").textContent = told;
  // Where a drawing is mended, what is wrong with it stands beside it.
  openProblems(sessionStorage.getItem(CLOSED) !== now && !by("found"));
  if (before && !list.length) say("Mended.");
}

/** Shows what is to mend, or only how much, as was last wanted of just that. */
function openProblems(wanted) {
  const none = problems === "[]";
  by("problems").hidden = none || !wanted;
  by("problems-open").hidden = none || wanted;
}

by("problems-close").addEventListener("click", () => {
  sessionStorage.setItem(CLOSED, problems);
  openProblems(false);
  by("problems-open").focus();
});
by("problems-open").addEventListener("click", () => {
  sessionStorage.removeItem(CLOSED);
  openProblems(true);
  by("problems-close").focus();
});

/** How things stand, in words that hold whatever the page beside them shows. */
function workInWords(report) {
  const { done, whole } = report;
  const far = `${done} of ${count(whole, "set", "sets")} seen to`;
  if (report.building) return whole > 1 ? `${report.building} · ${far}` : report.building;
  if (report.files === null) return "Looking at what is built…";
  if (report.stopped && done < whole) {
    return `Stopped: ${count(whole - done, "set is", "sets are")} not built as drawn now`;
  }
  if (report.problems.length) return "Built, but for what is to mend";
  return whole && done >= whole ? "All built; what you save is built at once" : "Watching";
}

function showWork(report) {
  const isStopped = report.stopped && report.done < report.whole;
  by("watching-words").textContent = workInWords(report);
  by("building").hidden = !report.building || report.whole < 2;
  by("building").max = report.whole || 1;
  by("building").value = report.done;
  if (ROOT) {
    by("stop-building").hidden = !report.building || report.stopped;
    by("go-on-building").hidden = !isStopped;
  }
  by("watching").classList.toggle("busy", report.building !== "");
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
