import { ask, by, count, el, send } from "/static/common.js";

function row(one, ...more) {
  return el(
    "li",
    {},
    el("span", { dir: "auto" }, [one.title, one.period].filter(Boolean).join(", ")),
    el("span", { class: "quiet" }, one.edition || one.name),
    el("span", {}, ...more),
  );
}

function list(id, rows, none) {
  by(id).replaceChildren(...(rows.length ? rows : [el("li", { class: "quiet" }, none)]));
}

const SAID = {
  stopped: "Stopped. What was finished is kept; making it again goes on from there.",
  "broken off": "The last release broke off. What was finished is kept; make it again to go on.",
};

function work(said) {
  const making = said.state === "making";
  by("bar").hidden = !making;
  by("stop").hidden = !making;
  if (making) {
    by("bar").max = said.whole || 1;
    by("bar").value = said.done;
    by("work").textContent = said.whole
      ? `${said.done} of ${said.whole}: ${said.what}`
      : "Looking at what is passed…";
  } else if (said.state === "done") {
    by("work").textContent = `Made: ${count(said.out.length, "set is", "sets are")} out.`;
  } else if (said.state === "failed") by("work").textContent = said.problem;
  else by("work").textContent = SAID[said.state] ?? "";
  const notes = said.state === "done" ? said : { held: [], without_pictures: [], advice: [] };
  by("notes").replaceChildren(
    ...notes.held.slice(0, 12).map(([name, why]) => el("li", {}, `${name}: ${why}`)),
    ...notes.without_pictures.map(([name, why]) => el("li", {}, `No pictures of ${name}: ${why}`)),
    ...notes.advice.map((line) => el("li", {}, line)),
  );
  return making;
}

let timer = 0;
async function refresh() {
  clearTimeout(timer);
  const about = await ask("/api/release");
  const making = work(about.work);
  by("ready-words").textContent = about.ready.length
    ? `${count(about.ready.length, "set is", "sets are")} passed and not out.`
    : "Nothing is passed that isn’t out already.";
  by("make").disabled = making || (!about.ready.length && !about.out.length);
  by("made").hidden = !about.page;
  by("make").textContent = about.ready.length ? "Make it" : "Make it once more";
  by("make").classList.toggle("main", about.ready.length > 0);
  list(
    "ready",
    about.ready.map((one) =>
      row(one, `goes out as version ${one.next}${one.again ? `; ${one.again}` : ""}`),
    ),
    "None.",
  );
  list(
    "held",
    about.held.map((one) => row(one, one.why)),
    "None.",
  );
  list(
    "out",
    about.out.map((one) => row(one, `version ${one.version}`)),
    "None yet.",
  );
  timer = setTimeout(refresh, making ? 500 : 4000);
}

by("make").addEventListener("click", async () => {
  by("make").disabled = true;
  await send("/api/release", { pictures: by("pictures").checked });
  refresh();
});
by("stop").addEventListener("click", async () => {
  await send("/api/release/stop", {});
  refresh();
});
by("folder").addEventListener("click", async () => {
  try {
    by("where").textContent = `It is ${(await send("/api/release/show", {})).folder}`;
  } catch (problem) {
    by("where").textContent = problem.message;
  }
});
document.addEventListener("updates", refresh);
refresh();
