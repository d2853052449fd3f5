// The season as a form: each change is written at once, and what comes of it is told beside.
import { ROOT, ask, awaited, by, count, el, say, send } from "/static/common.js";

let plan = null;

let writing = Promise.resolve();

/** Writes a change, or what a function makes of the plan then; one after the other. */
function write(change) {
  const next = () => writeNow(typeof change === "function" ? change() : change);
  writing = writing.then(next, next);
  return writing;
}

async function writeNow(change) {
  by("wrong").hidden = true;
  const answer = await fetch(`${ROOT}/api/plan`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ version: plan.version, change }),
  });
  if (answer.ok) {
    show(await answer.json());
    by("saved").textContent = change ? "Written into the season file." : "Taken back.";
    return;
  }
  const said = await answer.text();
  if (answer.status === 409) {
    show(await ask("/api/plan"));
    askAgain(said, change);
  } else {
    show(plan);
    wrong(said);
  }
}

/** Asks what is to stand where the file was changed meanwhile. */
function askAgain(said, change) {
  wrong(`${said} This is what is in it now.`);
  const yes = el("button", { type: "button", class: "main" }, "Write my change into it");
  const no = el("button", { type: "button" }, "Leave it as it is");
  yes.addEventListener("click", () => write(change));
  no.addEventListener("click", () => {
    by("wrong").hidden = true;
  });
  by("wrong").append(" ", ...(change ? [yes, " "] : []), no);
}

function wrong(text) {
  by("wrong").textContent = text;
  by("wrong").hidden = false;
  by("wrong").scrollIntoView({ block: "nearest" });
}

/** A field for words in each language they are written in; ``save`` gets what is written and its language. */
function inEachLanguage(list, called, more, save, field = "input") {
  return list.map(({ language, text }) => {
    const named = language ? `${called} (${language})` : called;
    const input = el(field, { dir: "auto", "aria-label": named, ...more });
    input.value = text;
    input.addEventListener("change", () => save(input.value.trim().replace(/\s+/g, " "), language));
    return el("label", {}, language, input);
  });
}

function titles(list, set) {
  const called = set ? "Title of the set" : "Title of the season";
  const more = { maxlength: "200", class: set ? "set-title" : "" };
  return inEachLanguage(list, called, more, (text, language) => {
    if (text) write({ do: "title", set, language, text });
  });
}

/** What a set's listings in the shop begin with. */
function firstLines(list, set) {
  const more = { maxlength: "300", rows: "3", placeholder: "Why somebody wants it" };
  const fields = inEachLanguage(
    list,
    "First sentence in the shop",
    more,
    (text, language) => write({ do: "first-line", set, language, text }),
    "textarea",
  );
  const told = "First sentence in the shop: the text that you copy for a listing begins with it.";
  return [el("p", { class: "quiet" }, told), ...fields];
}

function periods() {
  by("periods").replaceChildren(
    ...plan.periods.map((period) =>
      el(
        "li",
        {},
        el("strong", { dir: "auto" }, period.title),
        el("span", { class: "quiet" }, period.days || `“${period.name}” in names of files`),
        el(
          "button",
          {
            type: "button",
            "aria-label": `Take out ${period.title}`,
            onclick: () => write({ do: "without", what: "period", name: period.name }),
          },
          "Take out",
        ),
      ),
    ),
  );
  const all = plan.periods.flatMap((period) => between(period.first, period.last));
  const last = all.length ? all.reduce((one, other) => (one > other ? one : other)) : month(0);
  const first = all.length ? all.reduce((one, other) => (one < other ? one : other)) : month(0);
  by("months").replaceChildren(
    ...between(first, last)
      .slice(0, 24)
      .map((one) => {
        const has = all.includes(one);
        const [year] = one.split("-");
        const name = inWords(one, { month: "short" });
        return el(
          "li",
          { class: has ? "has" : "missing", "data-month": one },
          name,
          el("small", {}, has ? year : "in no period"),
        );
      }),
  );
  const next = after(last);
  if (wanted) tellWanted(all, next);
  if (!by("from").value) by("from").value = all.length ? next : month(1);
  if (!by("to").value) by("to").value = by("from").value;
  tellPeriod();
}

/** A month in words, with its year or without. */
function inWords(one, more = { year: "numeric" }) {
  const [year, number] = one.split("-").map(Number);
  const time = new Date(Date.UTC(year, number - 1, 1));
  return time.toLocaleString("en-GB", { month: "long", timeZone: "UTC", ...more });
}

/** Says what adding would make, before it is done. */
function tellPeriod() {
  const [first, last] = [by("from").value, by("to").value];
  const said = /^\d{4}-\d{2}$/;
  const all = said.test(first) && said.test(last) ? between(first, last) : [];
  const several = all.length > 1;
  const each = several && by("each").value === "each";
  const own = plan.periods.filter((one) => one.first === one.last).map((one) => one.first);
  const there = several && !each ? [] : all.filter((one) => own.includes(one));
  const names = all.filter((one) => !there.includes(one));
  const words = names.map((one, at) => inWords(one, at === names.length - 1 ? undefined : {}));
  const already = there.length
    ? `${there.map((one) => inWords(one)).join(", ")} is there already. `
    : "";
  by("each-row").hidden = !several;
  by("add-period").disabled = !names.length;
  by("add-period").textContent = each
    ? `Add ${count(names.length, "period", "periods")}`
    : "Add a period";
  if (!all.length)
    by("period-words").textContent = "Give the first and the last month, in this order.";
  else if (!names.length) by("period-words").textContent = already.trim();
  else if (each)
    by("period-words").textContent =
      `${already}Makes ${count(names.length, "period", "periods")}, ${words.join(", ")}: a set for each of them.`;
  else if (several)
    by("period-words").textContent =
      `Makes one period of ${all.length} months, ${inWords(first)} to ${inWords(last)}: one set over all of them.`;
  else by("period-words").textContent = `Makes one period, ${words[0]}.`;
}
for (const id of ["from", "to", "each"]) by(id).addEventListener("input", tellPeriod);

/** The month that somebody came here for, from the shelf, until it was told. */
let wanted = new URLSearchParams(location.search).get("month") ?? "";

/** Says what there is of the month, and has the form ready for it where it is in no period. */
function tellWanted(all, next) {
  const has = all.includes(wanted);
  const isBefore = all.length > 0 && all.every((one) => wanted < one);
  for (const box of by("months").children) {
    if (box.dataset.month === wanted) box.setAttribute("aria-current", "true");
  }
  const named = inWords(wanted);
  by("wanted").hidden = false;
  by("wanted-words").textContent = has
    ? `${named} is in this season.`
    : isBefore
      ? `${named} is before this season: add it here if you want to make it.`
      : `${named} is in no period yet: add it here, or begin the season that follows.`;
  by("wanted-next").hidden = has || isBefore;
  if (!has) {
    by("from").value = all.length && wanted >= next ? next : wanted;
    by("to").value = wanted;
  }
  wanted = "";
}

const text = (year, number) => `${year}-${String(number).padStart(2, "0")}`;
function month(ahead) {
  const now = new Date();
  const time = new Date(Date.UTC(now.getFullYear(), now.getMonth() + ahead, 1));
  return text(time.getUTCFullYear(), time.getUTCMonth() + 1);
}
function after(one) {
  const [year, number] = one.split("-").map(Number);
  return number === 12 ? text(year + 1, 1) : text(year, number + 1);
}
function between(first, last) {
  const found = [];
  for (let one = first; one <= last && found.length < 240; one = after(one)) found.push(one);
  return found;
}

function picture(name) {
  const versions = plan.templates[name] ?? {};
  const sizes = Object.keys(versions);
  if (!sizes.length) return el("span", { class: "quiet" }, name);
  const chosen = plan.fields.sizes.filter((one) => one.chosen).map((one) => one.value);
  const size = chosen.find((one) => sizes.includes(one)) ?? sizes[0];
  return el("img", {
    alt: name,
    loading: "lazy",
    draggable: "false",
    src: `${ROOT}/picture/drawing/${size}/${name}/50?v=${versions[size]}`,
  });
}

const PER = ["day", "half-week", "week", "month", "quarter", "year", "once"];

function select(values, chosen, label, change) {
  const held = values.includes(chosen) ? values : [chosen, ...values];
  const box = el(
    "select",
    { "aria-label": label },
    ...held.map((value) => el("option", { selected: value === chosen }, value)),
  );
  box.addEventListener("change", () => change(box.value));
  return box;
}

let dragged = null;

function run(set) {
  const { spreads } = set;
  // Made of what is planned by then: somebody may be faster than the file.
  const rewrite = (edit) =>
    write(() => {
      const now = plan.sets.find((one) => one.name === set.name) ?? set;
      const list = edit(now.spreads.map((spread, was) => ({ ...spread, was })));
      return { do: "rhythm", set: set.name, spreads: list };
    });
  const changed = (index, more) =>
    rewrite((list) => list.map((one, at) => (at === index ? { ...one, ...more } : one)));
  const move = (from, to) =>
    rewrite((list) => list.toSpliced(from, 1).toSpliced(to, 0, list[from]));
  const names = Object.keys(plan.templates);
  const items = spreads.map((spread, index) => {
    const where = `spread ${index + 1} of ${set.name}`;
    const two = el(
      "div",
      { class: "two", draggable: "true" },
      picture(spread.verso),
      picture(spread.recto),
    );
    const item = el(
      "li",
      {},
      two,
      el(
        "label",
        {},
        "Left",
        select(names, spread.verso, `Left page, ${where}`, (value) =>
          changed(index, { verso: value }),
        ),
      ),
      el(
        "label",
        {},
        "Right",
        select(names, spread.recto, `Right page, ${where}`, (value) =>
          changed(index, { recto: value }),
        ),
      ),
      el(
        "label",
        {},
        "Every",
        select(PER, spread.per, `How often, ${where}`, (value) =>
          changed(index, { per: value, ...(value === "once" ? { every: 1 } : {}) }),
        ),
      ),
      el(
        "p",
        { class: "buttons" },
        el(
          "button",
          {
            type: "button",
            disabled: index === 0,
            "aria-label": `Earlier: ${where}`,
            onclick: () => move(index, index - 1),
          },
          "←",
        ),
        el(
          "button",
          {
            type: "button",
            disabled: index === spreads.length - 1,
            "aria-label": `Later: ${where}`,
            onclick: () => move(index, index + 1),
          },
          "→",
        ),
        el(
          "button",
          {
            type: "button",
            disabled: spreads.length === 1,
            "aria-label": `Take out ${where}`,
            onclick: () => rewrite((list) => list.filter((_, at) => at !== index)),
          },
          "Take out",
        ),
      ),
    );
    two.addEventListener("dragstart", () => {
      dragged = { set: set.name, index };
    });
    item.addEventListener("dragover", (event) => {
      if (dragged?.set !== set.name) return;
      event.preventDefault();
      item.classList.add("over");
    });
    item.addEventListener("dragleave", () => item.classList.remove("over"));
    item.addEventListener("drop", (event) => {
      event.preventDefault();
      if (dragged?.set === set.name && dragged.index !== index) move(dragged.index, index);
      dragged = null;
    });
    return item;
  });
  items.push(
    el(
      "li",
      { class: "new" },
      el(
        "button",
        {
          type: "button",
          onclick: () => rewrite((list) => [...list, { ...list.at(-1), was: -1 }]),
        },
        "Add a spread",
      ),
    ),
  );
  return el("ol", { class: "run", "aria-label": `The run of ${set.name}` }, ...items);
}

function sets() {
  by("sets").replaceChildren(
    ...plan.sets.map((set) => {
      const names = el(
        "div",
        { class: "names" },
        ...titles(set.titles, set.name),
        ...firstLines(set.first_lines, set.name),
      );
      return el(
        "div",
        { class: "one-set" },
        el(
          "div",
          {},
          names,
          el(
            "button",
            {
              type: "button",
              disabled: plan.sets.length === 1,
              "aria-label": `Take out the set ${set.name}`,
              onclick: () => write({ do: "without", what: "set", name: set.name }),
            },
            "Take out",
          ),
        ),
        el(
          "p",
          { class: "quiet" },
          [
            set.dated
              ? `for ${set.periods ? set.periods.join(", ") : "every period"}`
              : "without dates",
            set.within,
          ].join(": "),
        ),
        set.pages ? el("p", { class: "quiet", dir: "auto" }, set.pages) : null,
        set.spreads.length ? run(set) : null,
      );
    }),
  );
}

const FIELD = {
  sizes: "Binder sizes",
  papers: "Papers",
  language: "Languages",
  colours: "Colours",
  editions: "Editions",
};

const MORE = { sizes: "More sizes", papers: "More papers", language: "More languages" };
const opened = new Set();

const chosenOf = (field) => plan.fields[field].filter((one) => one.chosen).map((one) => one.value);

/** Writes a choice; what is lacking for it comes first. */
async function choose(field, one, box) {
  const choice = plan.fields[field];
  const kept = choice.filter((each) => (each.value === one.value ? box.checked : each.chosen));
  if (!kept.length) {
    box.checked = true;
    wrong(`A season needs at least one of its ${FIELD[field].toLowerCase()}.`);
    return;
  }
  const { checked } = box;
  const setting = () => {
    const values = chosenOf(field).filter((value) => value !== one.value);
    return { do: "setting", field, value: checked ? [...values, one.value] : values };
  };
  if (field === "sizes" && box.checked && !one.ready) {
    box.checked = false;
    askForPages(one, setting);
    return;
  }
  if (field === "language" && box.checked && !one.ready) {
    const words = chosenOf("language")[0].split("-")[0];
    await write({ do: "setting", field: "label_fallback", value: words });
  }
  await write(setting);
}

/** Asks whether pages are to be drawn again for a size that has none. */
function askForPages(one, setting) {
  const from = plan.fields.sizes.find((each) => each.chosen);
  const used = plan.sets.flatMap((set) => [
    ...set.spreads.flatMap((spread) => [spread.verso, spread.recto]),
    ...set.templates,
  ]);
  const names = [...new Set(used)].filter(
    (name) => plan.templates[name]?.[from.value] && !plan.templates[name][one.value],
  );
  by("asked").hidden = false;
  by("asked-words").textContent =
    `${one.title} has no drawings of ${count(names.length, "page", "pages")} yet: ${names.join(", ")}. ` +
    `They can be made from those for ${from.title}; ruled lines keep their pitch, and what is to be looked at is listed.`;
  by("asked-yes").textContent = `Make them for ${one.title}`;
  by("asked-yes").onclick = async () => {
    by("asked-yes").disabled = true;
    try {
      const made = await send("/api/resize", { size: from.value, names, to: one.value });
      by("asked-lines").replaceChildren(
        ...made.lines.map((line) => el("li", {}, line)),
        el("li", {}, el("a", { href: `${ROOT}/drawings` }, `Look at the pages for ${one.title}.`)),
      );
      by("asked").hidden = true;
      await write(setting);
    } catch (problem) {
      wrong(problem.message);
    }
    by("asked-yes").disabled = false;
  };
  by("asked-yes").focus();
}
by("asked-no").addEventListener("click", () => {
  by("asked").hidden = true;
});

function tick(field, one) {
  const box = el("input", { type: "checkbox", value: one.value, checked: one.chosen });
  box.addEventListener("change", () => choose(field, one, box));
  return el("label", {}, box, ` ${one.title}`);
}

function fields() {
  by("fields").replaceChildren(
    ...Object.entries(plan.fields).map(([field, choice]) => {
      const usual = choice.filter((one) => one.usual).map((one) => tick(field, one));
      const rest = choice.filter((one) => !one.usual).map((one) => tick(field, one));
      const more = el(
        "details",
        { open: opened.has(field) },
        el("summary", {}, MORE[field] ?? "More"),
        el("div", { class: "ticks" }, ...rest),
      );
      more.addEventListener("toggle", () => opened[more.open ? "add" : "delete"](field));
      return el(
        "fieldset",
        { class: "one-field" },
        el("legend", {}, FIELD[field]),
        el("div", { class: "ticks" }, ...usual),
        rest.length ? more : null,
      );
    }),
  );
}

const PLACE = ["latitude", "longitude"];

function almanac() {
  const held = plan.almanac;
  by("holidays").disabled = held.holidays === null;
  by("holidays").value = (held.holidays ?? []).join(", ");
  by("by-language").hidden = held.holidays !== null;
  for (const id of [...PLACE, "zone"]) by(id).value = held[id] ?? "";
}

for (const id of ["holidays", ...PLACE, "zone"])
  by(id).addEventListener("change", () => {
    if (plan.almanac.holidays === null) return;
    const number = (one) => (by(one).value === "" ? null : Number(by(one).value));
    const [latitude, longitude] = PLACE.map(number);
    if ((latitude === null) !== (longitude === null)) return; // the other one comes next
    const holidays = by("holidays").value.split(/[,;]/);
    write({
      do: "almanac",
      holidays: holidays.map((one) => one.trim()).filter(Boolean),
      latitude,
      longitude,
      zone: by("zone").value,
    });
  });

function figures() {
  const head = ["Set", "Spreads", "Leaves", "Sheets", "Cuts", "A pack"];
  by("figures").replaceChildren(
    el(
      "table",
      {},
      el("thead", {}, el("tr", {}, ...head.map((one) => el("th", { scope: "col" }, one)))),
      el(
        "tbody",
        {},
        ...plan.figures.map((one) =>
          el(
            "tr",
            {},
            el(
              "th",
              { scope: "row" },
              el(
                "button",
                {
                  type: "button",
                  class: "plainly",
                  dir: "auto",
                  "aria-label": `Show ${one.title}, ${one.period}, ${one.edition}`,
                  "aria-current": one.name === live.name ? "true" : null,
                  onclick: () => showLive(one.name),
                },
                `${one.title}, ${one.period}`,
              ),
              el("span", { class: "amount" }, one.edition),
              one.name === live.name ? el("span", { class: "amount" }, "shown above") : null,
              one.why ? el("span", { class: "amount" }, one.why) : null,
            ),
            ...(one.problem
              ? [el("td", { class: "fault", colspan: "5" }, one.problem)]
              : [
                  one.spreads,
                  one.leaves,
                  one.sheets,
                  one.cuts,
                  [`${one.weight_g}\u00a0g, ${one.thickness_mm}\u00a0mm`, one.paper_cost]
                    .filter(Boolean)
                    .join(", "),
                ].map((value) => el("td", {}, String(value)))),
          ),
        ),
      ),
    ),
  );
}

/** The set that is shown as it is built, and which of its spreads. */
const live = { name: "", views: [], at: 0, version: "" };

async function showLive(name) {
  live.name = name;
  live.views = [];
  figures();
  await freshLive(true);
}

/** Asks for the set that is shown; after a change it is there as soon as it is built again. */
async function freshLive(anew = false) {
  const named = plan.figures.find((one) => one.name === live.name) ?? plan.figures[0];
  live.name = named?.name ?? "";
  by("live").hidden = !named || Boolean(named.problem);
  if (by("live").hidden) return;
  const answer = await ask(`/api/live/${live.name}`);
  if (answer.name !== live.name) return;
  if (anew || !live.views.length) live.at = answer.first;
  live.views = answer.views;
  live.at = Math.max(0, Math.min(live.at, live.views.length - 1));
  if (live.views.length) {
    drawLive();
    return;
  }
  live.version = "";
  by("live-board").replaceChildren(el("p", { class: "waiting" }, "It is being built…"));
  by("live-words").textContent = "";
}

function drawLive() {
  const version = live.views[live.at];
  by("live-back").disabled = live.at === 0;
  by("live-on").disabled = live.at === live.views.length - 1;
  by("live-words").textContent = `Spread ${live.at + 1} of ${live.views.length}, as it is built`;
  if (live.version === version) return;
  live.version = version;
  const one = plan.figures.find((each) => each.name === live.name);
  const image = el("img", {
    alt: `Spread ${live.at + 1} of ${one.title}, ${one.period}`,
    src: `${ROOT}/picture/${live.name}/view/${live.at}/open/110?v=${version}`,
  });
  by("live-board").replaceChildren(image);
  awaited(by("live-board"), image);
}

function stepLive(step) {
  live.at = Math.max(0, Math.min(live.views.length - 1, live.at + step));
  drawLive();
}
by("live-back").addEventListener("click", () => stepLive(-1));
by("live-on").addEventListener("click", () => stepLive(1));
document.addEventListener("updates", () => plan && freshLive());

function options(id, values, held) {
  by(id).replaceChildren(...values.map((value) => el("option", {}, value)));
  by(id).value = held;
}

function show(now) {
  const place = document.activeElement?.getAttribute("aria-label");
  plan = now;
  by("titles").replaceChildren(...titles(plan.titles, ""));
  periods();
  sets();
  fields();
  almanac();
  by("lead").value = plan.lead_days;
  live.name = plan.figures.some((one) => one.name === live.name)
    ? live.name
    : (plan.figures[0]?.name ?? "");
  figures();
  freshLive();
  by("weeks").value = plan.weeks;
  by("first_weekday").replaceChildren(
    by("first_weekday").options[0],
    ...plan.weekdays.map((day) =>
      el("option", { value: day }, day[0].toUpperCase() + day.slice(1)),
    ),
  );
  by("first_weekday").value = plan.first_weekday ?? "";
  by("week_numbers").value = plan.week_numbers;
  by("undo").disabled = !plan.can_undo;
  const names = Object.keys(plan.templates);
  if (!by("set-verso").options.length) {
    options("set-verso", names, names[0]);
    options("set-recto", names, names[0]);
  }
  if (place) document.querySelector(`[aria-label="${CSS.escape(place)}"]`)?.focus();
}

by("plan").addEventListener("submit", (event) => event.preventDefault());
by("lead").addEventListener("change", ({ target }) => {
  if (target.checkValidity()) {
    write({ do: "lead", days: target.value === "" ? null : Number(target.value) });
  }
});
by("undo").addEventListener("click", () => write(null));
by("add-period").addEventListener("click", () => {
  const [first, last] = [by("from").value, by("to").value];
  by("from").value = "";
  by("to").value = "";
  write({ do: "period", name: "", first, last, each: by("each").value === "each" });
});
by("add-set").addEventListener("click", () => {
  const title = by("set-title").value.trim();
  const name = title
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-|-$/g, "");
  if (!name) {
    wrong("Say what the set is called.");
    return;
  }
  by("set-title").value = "";
  write({
    do: "set",
    name,
    title,
    spread: {
      was: -1,
      verso: by("set-verso").value,
      recto: by("set-recto").value,
      per: by("set-per").value,
      every: 1,
    },
  });
});
for (const id of ["weeks", "first_weekday", "week_numbers"]) {
  by(id).addEventListener("change", () =>
    write({ do: "setting", field: id, value: by(id).value || null }),
  );
}

async function fresh() {
  try {
    const now = await ask("/api/plan");
    if (now.version !== plan?.version) {
      const first = plan === null;
      show(now);
      if (first) {
        by("plan").inert = false;
        by("plan").removeAttribute("aria-busy");
        by("saved").textContent =
          "Whatever you change here is written into the season file at once.";
      } else {
        by("saved").textContent = "The file was changed by hand; this is what is in it now.";
        say("The file was changed by hand.");
      }
    }
  } catch (problem) {
    if (plan === null) by("saved").textContent = "";
    wrong(problem.message);
  }
}
await fresh();
setInterval(async () => {
  if (document.hidden || document.activeElement?.matches("input, select, textarea")) return;
  await fresh();
}, 3000);

by("wanted-next").addEventListener("click", () => {
  by("next").scrollIntoView({ block: "center" });
  by("next").focus();
});
by("next").addEventListener("click", async ({ target }) => {
  target.disabled = true;
  const said = by("next-said");
  said.textContent = "Writing it…";
  try {
    const { season, title, lines, there } = await send("/api/next", {});
    by("next-lines").replaceChildren(...lines.map((line) => el("li", { dir: "auto" }, line)));
    const rest = lines.length || there ? "" : " Nothing else needs your hand.";
    said.replaceChildren(
      el("bdi", {}, title),
      there ? " is begun already: " : " is begun: ",
      el("a", { href: `/season/${season}/plan` }, "open it"),
      `.${rest}`,
    );
  } catch (problem) {
    said.textContent = problem.message;
  }
  target.disabled = false;
});
