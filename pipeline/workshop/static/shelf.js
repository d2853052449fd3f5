// All sets of all seasons, as pictures; how they stand is told bit by bit.
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

/** How a set stands: a kind for its colour, the word, the filter's word, and what comes next. */
function standing(set) {
  if (!set) return ["look", "…", "…", ""];
  if (set.problem) {
    const word = set.remedy ? "cannot be shown" : "drawn, not built";
    return [set.remedy ? "due" : "look", word, word, "build it"];
  }
  if (set.fault) return ["due", "out of date", "out of date", "build it"];
  if (set.sent_back) return ["due", "sent back", "sent back", "draw"];
  if (set.out?.current) return ["out", `out, version ${set.out.version}`, "out", ""];
  if (set.passed) {
    const word = set.out ? "passed anew, not out" : "passed, not out";
    return ["pass", word, word, "release it"];
  }
  if (!set.counts) return ["look", "built", "built", "look at it"];
  const { seen } = set.counts;
  const left = Object.entries(set.counts)
    .filter(([state]) => !["unchanged", "gone", "seen"].includes(state))
    .reduce((sum, [, some]) => sum + some, 0);
  if (seen && !left) {
    return [
      "look",
      `${count(seen, "page", "pages")} seen already`,
      "pages seen already",
      "pass them",
    ];
  }
  return ["look", `${count(left, "page", "pages")} to look at`, "pages to look at", "look at it"];
}

function strip(months) {
  by("strip").replaceChildren(
    ...months.map((one) => {
      const told = [one.year, WORDS[one.state]]
        .filter(Boolean)
        .map((said) => el("small", {}, said));
      const named = el("span", {}, one.name);
      const plan = `/season/${one.season}/plan?month=${one.month}#t-periods`;
      return el(
        "li",
        { class: one.state },
        ...(one.season ? [el("a", { href: plan }, named, ...told)] : [named, ...told]),
      );
    }),
  );
  const due = months.filter((one) => one.state === "due");
  const leads = due.map((one) => one.lead_days);
  const days = Math.max(...(due.length ? leads : [months[0]?.lead_days ?? 0]));
  by("strip-words").textContent = due.length
    ? `Wanted by buyers within ${days} days, and not out: ` +
      `${due.map((one) => `${one.name} ${one.year}`).join(", ")}. A month leads to its plan.`
    : `Nothing is due in the next ${days} days. A month leads to its plan.`;
}

/** What a paper of a card is filtered by. */
const facts = (season, card, paper) => ({
  season: season.title,
  size: card.size,
  paper: paper.paper,
  language: card.language,
  colours: card.colours || "as drawn",
  state: standing(season.states.get(paper.name))[2],
});

function isWanted(season, card, paper) {
  const held = facts(season, card, paper);
  return FILTERS.every((one) => !by(`by-${one}`).value || by(`by-${one}`).value === held[one]);
}

/** Where one goes from a set: to what comes next for it. */
function wayOn(root, set, name) {
  const next = standing(set)[3];
  if (next === "build it" || !set) return `${root}/`;
  return next === "release it" ? `${root}/release?only=${name}` : `${root}/set/${name}`;
}

function paperLine(season, card, paper) {
  const root = `/season/${season.name}`;
  const place = el("a", {}, paper.paper);
  const word = el("span", { class: "state" });
  const next = el("a", { class: "next" });
  const row = el("li", {}, place, el("span", {}, word, " ", next));
  const show = () => {
    const set = season.states.get(paper.name);
    const [kind, said, , step] = standing(set);
    place.href = set && !set.problem ? `${root}/set/${paper.name}` : `${root}/`;
    place.setAttribute("aria-label", `${card.title}, ${card.period}, ${paper.paper}`);
    word.className = `state ${kind}`;
    word.textContent = said;
    next.hidden = !step;
    next.textContent = step;
    next.href = wayOn(root, set, paper.name);
    next.setAttribute("aria-label", `${step}: ${card.title}, ${card.period}, ${paper.paper}`);
    row.hidden = !isWanted(season, card, paper);
  };
  return { row, show };
}

function drawCard(season, card) {
  const root = `/season/${season.name}`;
  const picture = card.picture
    ? el("img", { loading: "lazy", alt: "", src: root + card.picture })
    : el("span", { class: "none" }, "nothing drawn yet");
  const isBuilt = card.picture.startsWith("/picture/cover/");
  const link = el(
    "a",
    {
      class: isBuilt ? "picture" : "picture drawn",
      href: isBuilt ? `${root}/set/${card.papers[0].name}` : `${root}/`,
      tabindex: "-1",
      "aria-hidden": "true",
    },
    picture,
  );
  if (card.picture) awaited(link, picture);
  card.lines = card.papers.map((paper) => paperLine(season, card, paper));
  const about = [card.period, card.size, card.language, card.colours].filter(Boolean).join(" · ");
  card.box = el(
    "li",
    {},
    link,
    el(
      "div",
      { class: "about" },
      el("h3", { dir: "auto" }, card.title),
      el("p", { class: "quiet" }, about),
      el("p", { class: "quiet" }, card.within),
      el("ul", { class: "papers" }, ...card.lines.map((line) => line.row)),
    ),
  );
  return card.box;
}

/** Shows what the filters leave, as it stands by now. */
function fill(season) {
  for (const card of season.cards ?? []) {
    for (const line of card.lines) line.show();
    card.box.hidden = card.lines.every((line) => line.row.hidden);
  }
  season.row.hidden =
    Boolean(season.cards?.length) && season.cards.every((card) => card.box.hidden);
}

function choices() {
  const all = [...seasons.values()].flatMap((season) =>
    (season.cards ?? []).flatMap((card) => card.papers.map((paper) => facts(season, card, paper))),
  );
  for (const one of FILTERS) {
    const select = by(`by-${one}`);
    const held = select.value;
    const values = [...new Set(all.map((fact) => fact[one]))].filter((value) => value !== "…");
    values.sort();
    select.replaceChildren(select.options[0], ...values.map((value) => el("option", {}, value)));
    select.value = values.includes(held) ? held : "";
    select.closest("label").hidden = values.length < 2;
  }
}

function sum() {
  const sets = [...seasons.values()].flatMap((season) =>
    (season.cards ?? []).flatMap((card) =>
      card.papers.map((paper) => standing(season.states.get(paper.name))[0]),
    ),
  );
  const parts = [count(sets.length, "set", "sets")];
  const out = sets.filter((kind) => kind === "out").length;
  const pass = sets.filter((kind) => kind === "pass").length;
  if (out) parts.push(`${out} out`);
  if (pass) parts.push(`${pass} passed and not out`);
  if (waiting) parts.push(`${count(waiting, "season", "seasons")} still being looked at`);
  by("whole").textContent = parts.join(" · ");
}

function drawSeason(season) {
  season.states = new Map();
  season.note = el("p", { class: "fault" }, season.problem ?? "");
  season.list = el("ul", { class: "cards-of" });
  const rooms = ["", "plan", "drawings", "release", "bench"];
  const links = ["Proofs", "Plan", "Drawings", "Release", "Bench"].map((word, index) =>
    el("a", { class: "quiet", href: `/season/${season.name}/${rooms[index]}` }, word),
  );
  season.row = el(
    "section",
    { class: "season-row" },
    el(
      "h2",
      {},
      el("a", { href: `/season/${season.name}/`, dir: "auto" }, season.title),
      el("span", { class: "quiet" }, season.days ?? ""),
      ...links,
    ),
    season.problem ? season.note : null,
    season.list,
  );
  season.list.append(...(season.cards ?? []).map((card) => drawCard(season, card)));
  seasons.set(season.name, season);
}

/** Asks how the sets of a season stand, so many at a time. */
async function askStates(season) {
  for (let first = 0, all = 1; first < all; ) {
    const about = await ask(`/season/${season.name}/api/sets?from=${first}`);
    for (const set of about.sets) season.states.set(set.name, set);
    all = about.all;
    first += Math.max(1, about.sets.length);
    fill(season);
  }
}

const about = await ask("/api/shelf");
strip(about.strip);
for (const season of about.seasons) drawSeason(season);
by("seasons").replaceChildren(...[...seasons.values()].map((one) => one.row));
for (const season of seasons.values()) fill(season);
choices();
if (!seasons.size) by("whole").textContent = "There is no season here yet.";
for (const one of FILTERS) {
  by(`by-${one}`).addEventListener("change", () => {
    for (const season of seasons.values()) fill(season);
  });
}
by("filter").addEventListener("submit", (event) => event.preventDefault());
const read = [...seasons.values()].filter((one) => !one.problem);
waiting = read.length;
for (const season of read) {
  sum();
  try {
    await askStates(season);
  } catch (problem) {
    season.note.textContent = problem.message;
    season.list.before(season.note);
  }
  waiting -= 1;
  choices();
}
if (seasons.size) sum();
