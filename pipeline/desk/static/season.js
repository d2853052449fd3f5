import {
  ROOT,
  STATES,
  WORST,
  ask,
  awaited,
  badge,
  by,
  count,
  decideOn,
  el,
  fillBar,
  passing,
  say,
  seenIn,
  sign,
} from "./common.js";

function stateOf(set) {
  if (set.problem && !set.remedy) {
    return el("div", { class: "counts" }, el("span", { class: "amount" }, set.problem));
  }
  if (set.problem) return el("div", { class: "counts" }, faultOf(set));
  const counts = el("div", { class: "counts" });
  if (!set.counts) counts.append(badge(null, set.unread ? "its pages cannot be read" : undefined));
  else if (set.passed) counts.append(badge("unchanged", "passed for press"));
  else {
    if (set.sent_back) counts.append(badge("sent back", "set sent back"));
    counts.append(el("span", { class: "amount" }, `${count(set.pages, "page", "pages")}:`));
    for (const state of WORST.toReversed()) {
      if (set.counts[state]) counts.append(badge(state, `${set.counts[state]} ${STATES[state]}`));
    }
    if (set.seen.pages.length) counts.append(passTheseToo(set));
  }
  if (set.findings) {
    counts.append(
      el(
        "span",
        { class: "badge finding" },
        sign("finding"),
        count(set.findings, "finding", "findings"),
      ),
    );
  }
  if (set.fault) counts.append(faultOf(set.fault));
  return counts;
}

/** A button that passes what is passed in another set already. */
function passTheseToo(set) {
  const where = seenIn(set.seen.in);
  const button = el(
    "button",
    { type: "button", class: "too", "aria-label": `Pass these too: ${calledOf(set)}` },
    "Pass these too",
  );
  button.addEventListener("click", async () => {
    button.disabled = true;
    try {
      if (await decideOn(set.name, passing(set))) say(`Passed: ${calledOf(set)}`);
      else button.disabled = false;
    } catch (problem) {
      button.after(el("p", { class: "fault", role: "alert" }, problem.message));
      return;
    }
    refresh();
  });
  return el("span", { class: "seen-in" }, el("span", {}, `Seen already in ${where}:`), button);
}

const calledOf = (set) => `${set.title}, ${set.period}, ${set.binder} on ${set.paper}`;

/** What is wrong with a set as a whole, and what to do. */
function faultOf({ problem, remedy }) {
  return el("p", { class: "fault" }, problem, remedy ? ` ${remedy}` : "");
}

function row(set) {
  const bar = el("div", { class: "bar", "aria-hidden": "true" });
  fillBar(bar, set.counts);
  return el(
    "li",
    {},
    el(
      ...(set.remedy
        ? ["div", { class: "absent-set" }]
        : ["a", { href: `${ROOT}/set/${set.name}` }]),
      el("span", { class: "name" }, set.paper ? `${set.binder} on ${set.paper}` : set.name),
      set.paper
        ? el("span", { class: "amount" }, [set.language, set.amount].filter(Boolean).join(" · "))
        : null,
    ),
    bar,
    stateOf(set),
  );
}

/** The picture of a set's first spread, which leads to it. */
function coverOf(editions) {
  const one = editions.find((set) => set.cover);
  if (!one) return null;
  const image = el("img", { alt: "", loading: "lazy", src: `${ROOT}/picture/${one.cover}` });
  const way = { class: "cover", tabindex: "-1", "aria-hidden": "true" };
  const link = el("a", { ...way, href: `${ROOT}/set/${one.name}` }, image);
  awaited(link, image);
  return link;
}

function show(season) {
  const periods = new Map();
  for (const set of season.sets) {
    const period = set.period ?? (set.remedy ? "Cannot be shown" : "Not built");
    const sets = periods.get(period) ?? new Map();
    periods.set(period, sets);
    const title = set.title ?? set.name.split("/")[1] ?? set.name;
    sets.set(title, [...(sets.get(title) ?? []), set]);
  }
  by("periods").replaceChildren(
    ...[...periods].map(([period, sets], number) =>
      el(
        "section",
        { "aria-labelledby": `period-${number}` },
        el("h2", { id: `period-${number}`, dir: "auto" }, period),
        ...[...sets].map(([title, editions]) =>
          el(
            "div",
            { class: "product" },
            el("div", {}, coverOf(editions), el("h3", { dir: "auto" }, title)),
            el("ul", {}, ...editions.map(row)),
          ),
        ),
      ),
    ),
  );
  const passed = season.sets.filter((set) => set.passed).length;
  const toBuild = season.sets.filter((set) => set.problem && !set.remedy).length;
  const compared = season.sets.filter((set) => set.counts || set.problem || set.unread).length;
  const findings = season.sets.reduce((sum, set) => sum + (set.findings ?? 0), 0);
  const parts = [`${passed} of ${count(season.sets.length, "set", "sets")} passed for press`];
  if (findings) parts.push(count(findings, "finding", "findings"));
  if (toBuild) parts.push(`${toBuild} not built yet`);
  if (compared < season.sets.length) {
    parts.push(`${season.sets.length - compared} still being looked at`);
  }
  by("whole").textContent = season.sets.length ? parts.join(" · ") : "Looking at what there is…";
  return (
    compared < season.sets.length || toBuild > 0 || season.sets.some((set) => set.findings === null)
  );
}

let shown = "";
let timer = 0;
async function refresh() {
  clearTimeout(timer);
  let pause = 4000;
  try {
    const season = await ask("/api/season");
    const now = JSON.stringify(season);
    // Drawn again only when something is new, so that nobody loses their place in the list.
    if (now !== shown) {
      const place = document.activeElement?.getAttribute("href");
      if (show(season)) pause = 1200;
      shown = now;
      if (place) document.querySelector(`a[href="${CSS.escape(place)}"]`)?.focus();
    }
  } catch (problem) {
    by("whole").textContent = `The desk does not answer: ${problem.message}`;
  }
  clearTimeout(timer);
  timer = setTimeout(refresh, pause);
}
document.addEventListener("updates", refresh);
refresh();
