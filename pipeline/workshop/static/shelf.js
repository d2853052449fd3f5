// All sets of all seasons, as pictures; each season's are asked for by themselves.
import { ask, awaited, by, count, el } from "/static/common.js";

const WORDS = {
  out: "out",
  planned: "planned",
  due: "due now",
  missing: "in no season",
  later: "",
};
const FILTERS = ["season", "size", "paper", "language", "colours", "state"];
const seasons = new Map();
let waiting = 0;

/** How a set stands: a kind for its colour, the word, and what comes next. */
function standing(set) {
  if (set.problem) return ["due", set.remedy ? "cannot be shown" : "not built", "build"];
  if (set.fault) return ["due", "out of date", "build"];
  if (set.sent_back) return ["due", "sent back", "draw"];
  if (set.out?.current) return ["out", `out, version ${set.out.version}`, ""];
  if (set.passed) return ["pass", set.out ? "passed anew, not out" : "passed, not out", "release"];
  if (!set.counts) return ["look", "built", "look"];
  const left = Object.entries(set.counts)
    .filter(([state]) => state !== "unchanged" && state !== "gone")
    .reduce((sum, [, some]) => sum + some, 0);
  return ["look", `${count(left, "page", "pages")} to look at`, "look"];
}

function strip(months) {
  by("strip").replaceChildren(
    ...months.map((one) =>
      el(
        "li",
        { class: one.state },
        one.name,
        el("small", {}, WORDS[one.state] || String(one.year)),
      ),
    ),
  );
  const due = months.filter((one) => one.state === "due").map((one) => one.name);
  by("strip-words").textContent = due.length
    ? `Wanted by buyers within six weeks, and not out: ${due.join(", ")}.`
    : "Nothing is due in the next six weeks.";
}

const facts = (season, set) => ({
  season: season.title,
  size: set.binder ?? "",
  paper: set.paper ?? "",
  language: set.language ?? "",
  colours: set.colours || "as drawn",
  state: standing(set)[1].replace(/\d+ pages?/, "pages"),
});

function isWanted(season, set) {
  const held = facts(season, set);
  return FILTERS.every((one) => !by(`by-${one}`).value || by(`by-${one}`).value === held[one]);
}

function card(season, sets) {
  const [first] = sets;
  const root = `/season/${season.name}`;
  const built = sets.find((one) => one.version);
  const picture = built
    ? el("img", {
        loading: "lazy",
        alt: "",
        src: `${root}/picture/${built.name}/view/0/open/40?v=${built.version}`,
      })
    : el("span", { class: "none" }, "not built yet");
  const link = el(
    "a",
    {
      class: "picture",
      href: built ? `${root}/set/${built.name}` : `${root}/`,
      tabindex: "-1",
      "aria-hidden": "true",
    },
    picture,
  );
  if (built) awaited(link, picture);
  return el(
    "li",
    {},
    link,
    el(
      "div",
      { class: "about" },
      el("h3", { dir: "auto" }, first.title ?? first.edition[1]),
      el(
        "p",
        { class: "quiet" },
        [first.period ?? first.edition[0], first.binder, first.language, first.colours]
          .filter(Boolean)
          .join(" · "),
      ),
      el(
        "ul",
        { class: "papers" },
        ...sets.map((set) => {
          const [kind, word] = standing(set);
          return el(
            "li",
            {},
            set.remedy
              ? el("span", {}, set.paper ?? set.edition[2])
              : el("a", { href: `${root}/set/${set.name}` }, set.paper ?? set.edition[2]),
            el("span", { class: `state ${kind}` }, word),
          );
        }),
      ),
    ),
  );
}

function grouped(sets) {
  const groups = new Map();
  for (const set of sets) {
    const [period, name, edition] = set.edition;
    const key = `${period}/${name}/${set.binder ?? edition}/${set.language ?? ""}`;
    groups.set(key, [...(groups.get(key) ?? []), set]);
  }
  return [...groups.values()];
}

function fill(season) {
  const sets = (season.sets ?? []).filter((set) => isWanted(season, set));
  season.row.hidden = Boolean(season.sets) && sets.length === 0;
  const isBuilt = sets.some((set) => set.version);
  season.note.textContent =
    isBuilt || !sets.length
      ? ""
      : `${count(sets.length, "set", "sets")}, none built yet: open its proofs, and they are.`;
  season.list.replaceChildren(...(isBuilt ? grouped(sets).map((same) => card(season, same)) : []));
}

function choices() {
  for (const one of FILTERS) {
    const select = by(`by-${one}`);
    const all = [...seasons.values()].flatMap((season) =>
      (season.sets ?? []).map((set) => facts(season, set)[one]),
    );
    const held = select.value;
    const values = [...new Set(all)].filter(Boolean).sort();
    select.replaceChildren(select.options[0], ...values.map((value) => el("option", {}, value)));
    select.value = values.includes(held) ? held : "";
    select.closest("label").hidden = values.length < 2;
  }
}

function sum() {
  const sets = [...seasons.values()].flatMap((season) => season.sets ?? []);
  const kinds = sets.map((set) => standing(set)[0]);
  const parts = [count(sets.length, "set", "sets")];
  const out = kinds.filter((kind) => kind === "out").length;
  const pass = kinds.filter((kind) => kind === "pass").length;
  const look = kinds.filter((kind) => kind === "look").length;
  if (out) parts.push(`${out} out`);
  if (pass) parts.push(`${pass} passed and not out`);
  if (look) parts.push(`${look} to look at`);
  if (waiting) parts.push(`${count(waiting, "season", "seasons")} still being looked at`);
  by("whole").textContent = parts.join(" · ");
}

const about = await ask("/api/shelf");
strip(about.strip);
for (const season of about.seasons) {
  season.list = el("ul", { class: "cards-of" });
  season.note = el("p", { class: "quiet" }, season.problem ? "" : "Looking…");
  season.row = el(
    "section",
    { class: "season-row" },
    el(
      "h2",
      {},
      el("a", { href: `/season/${season.name}/plan`, dir: "auto" }, season.title),
      el("span", { class: "quiet" }, season.days ?? ""),
      ...[
        ["", "Proofs"],
        ["release", "Release"],
      ].map(([room, word]) =>
        el("a", { class: "quiet", href: `/season/${season.name}/${room}` }, word),
      ),
    ),
    season.problem ? el("p", { class: "fault" }, season.problem) : season.note,
    season.list,
  );
  seasons.set(season.name, season);
}
by("seasons").replaceChildren(...[...seasons.values()].map((one) => one.row));
if (!seasons.size) by("whole").textContent = "There is no season here yet.";
waiting = [...seasons.values()].filter((one) => !one.problem).length;
for (const one of FILTERS) {
  by(`by-${one}`).addEventListener("change", () => {
    for (const season of seasons.values()) fill(season);
  });
}
by("filter").addEventListener("submit", (event) => event.preventDefault());
for (const season of seasons.values()) {
  if (season.problem) continue;
  try {
    season.sets = (await ask(`/season/${season.name}/api/sets`)).sets;
    fill(season);
  } catch (problem) {
    season.note.textContent = problem.message;
    season.note.className = "fault";
  }
  waiting -= 1;
  choices();
  sum();
}
