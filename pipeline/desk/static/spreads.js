import {
  ROOT,
  STATES,
  WHOLE_DPIS,
  WORST,
  ask,
  askWho,
  badge,
  by,
  cookie,
  count,
  decideOn,
  el,
  fillBar,
  keepCookie,
  passing,
  say,
  seenIn,
  sign,
  when,
} from "./common.js";

const NAME = by("main").dataset.set;
const BLINK_MS = 700;
/** Pixels of the screen for a millimetre of paper, at which a page can just be judged. By eye. */
const LEAST_PX_PER_MM = 1.6;
const ZOOMS = ["fit", "1", "4"];
/** What is there while tiles are drawn. */
const COARSE_DPI = 110;
/** Pixels to the inch that tiles can be asked for, and a tile's side. */
const TILE_DPIS = [96, 144, 192, 288, 384, 576, 768];
const TILE_PX = 1024;
/** Pixels of the browser's for a millimetre, at true size. */
const PX_PER_MM = 96 / 25.4;
const LARGEST = 8;
const phone = matchMedia("(max-width: 48rem)");
const still = matchMedia("(prefers-reduced-motion: reduce)");

let set = null;
let version = "";
let at = Math.max(0, (parseInt(location.hash.slice(1), 10) || 1) - 1);
let shut = { left: false, right: false };
let mode = "now";
/** "fit", "page" for one page at a time, or how many times true size. */
let zoom = phone.matches ? "page" : "fit";
/** Which of the spread's changes is looked at. */
let change = 0;
/** What the desk is doing besides drawing. */
let work = "";
let showsPassed = false;
let blinking = null;
/** Whether blinking is held: at first for those who want nothing to move. */
let held = still.matches;
let decisions = 0;
/** The versions of spreads that were on the screen, large enough to be judged. */
const seen = new Set(JSON.parse(sessionStorage.getItem(`seen ${NAME}`) ?? "[]"));
/** What went wrong with a decision or an answer, until the next one. */
let trouble = "";

const view = () => set.views[at];
const pages = () => view().pages.map((key) => set.pages[key]);
const viewPicture = (index, flaps, rest, views = set.views) =>
  `${ROOT}/picture/${NAME}/view/${index}/${flaps}/${rest}?v=${views[index].version}`;
const percent = (part, whole) => `${(100 * part) / whole}%`;

function worst(keys) {
  const states = keys.map((key) => set.pages[key].state);
  if (states.includes(null)) return null;
  return WORST.find((state) => states.includes(state)) ?? "unchanged";
}

// The list of spreads

/** Whether all that is new on a spread shows what is passed on another page of the set. */
function isKnown(one) {
  const pages = one.pages.map((key) => set.pages[key]);
  const fresh = pages.filter((page) => page.state === "new");
  return worst(one.pages) === "new" && fresh.every((page) => page.came_from);
}

function drawList() {
  const list = by("views");
  const items = set.views.map((one, index) => {
    const findings = one.pages.reduce((sum, key) => sum + set.pages[key].findings.length, 0);
    const state = one.pages.length ? worst(one.pages) : "unchanged";
    return el(
      "li",
      {},
      el(
        "button",
        {
          type: "button",
          "aria-current": index === at ? "true" : null,
          onclick: (event) => {
            turnTo(index);
            // After a click of the mouse the keys are the spread's again.
            if (event.detail) by("stage").focus({ preventScroll: true });
          },
        },
        el("span", { class: "title", dir: "auto" }, one.title),
        el("span", { class: "kinds" }, one.kinds),
        el(
          "span",
          { class: "state" },
          one.pages.length ? badge(state, isKnown(one) ? "new, looks as passed" : undefined) : "",
          findings ? el("span", { class: "badge finding" }, sign("finding"), `${findings}`) : null,
          one.left_out.length
            ? el("span", { class: "badge finding" }, sign("finding"), "no room for a note")
            : null,
        ),
      ),
    );
  });
  const focused = [...list.querySelectorAll("button")].indexOf(document.activeElement);
  list.replaceChildren(...items);
  if (focused >= 0) list.children[focused]?.firstChild.focus();
  const current = list.querySelector("[aria-current]");
  if (current) {
    const room = list.getBoundingClientRect();
    const place = current.getBoundingClientRect();
    if (place.top < room.top || place.bottom > room.bottom) {
      list.scrollTop += place.top - room.top - room.height / 3;
    }
    if (place.left < room.left || place.right > room.right) {
      list.scrollLeft += place.left - room.left - room.width / 3;
    }
  }
}

function drawProgress() {
  const whole = Object.keys(set.pages).length;
  const text = by("progress");
  const onward = by("onward");
  if (onward) onward.hidden = !set.passed;
  if (set.passed) offerTheSame().catch((problem) => complain(problem.message));
  else by("same").hidden = true;
  if (!set.counts && set.unread) text.textContent = "Its pages cannot be read.";
  else if (!set.counts) text.textContent = `Comparing ${count(whole, "page", "pages")}…`;
  else if (set.passed) text.replaceChildren(badge("unchanged", "Passed for press"));
  else {
    text.replaceChildren(
      `${set.counts.unchanged} of ${count(whole, "page", "pages")} passed`,
      ...WORST.filter((state) => state !== "unchanged" && set.counts[state]).map((state) =>
        badge(state, `${set.counts[state]} ${STATES[state]}`),
      ),
    );
  }
  fillBar(by("bar"), set.counts);
  by("pass-set").disabled = set.passed === true;
  by("send-set").disabled = false;
}

function drawSetNote() {
  const fault = by("fault");
  fault.hidden = !set.fault;
  fault.textContent = set.fault ? `${set.fault.problem} ${set.fault.remedy}` : "";
  const note = by("set-note");
  note.hidden = !set.sent_back;
  if (set.sent_back) {
    const since = set.sent_back.stands ? "" : " It was built again since.";
    note.textContent =
      `Set sent back by ${set.sent_back.by}, ${when(set.sent_back.at)}: ` +
      `“${set.sent_back.note}”${since}`;
  }
}

function drawPassMoved() {
  const moved = movedKeys();
  const button = by("pass-moved");
  button.hidden = moved.length === 0;
  const all = (state) => moved.every((key) => set.pages[key].state === state);
  const pages = count(moved.length, "page", "pages");
  const isHere = moved.some((key) => !set.pages[key].seen_in);
  const where = seenIn([...(isHere ? ["this set"] : []), ...set.seen.in]);
  const are = moved.length === 1 ? "is" : "are";
  if (all("moved")) button.textContent = `Pass the ${pages} that only moved`;
  else if (all("seen")) {
    button.textContent = `Pass the ${pages} that you saw in ${where}`;
  } else button.textContent = `Pass the ${pages} that ${are} like ones passed in ${where}`;
}

/** The files that other sets were last asked about for, so that it is done once. */
let offered = "";

/** Offers to pass in other sets the very same pages that are passed here. */
async function offerTheSame() {
  if (offered === set.files) return;
  offered = set.files;
  const { sets } = await ask("/api/season");
  if (sets.some((one) => one.files && !one.counts)) offered = ""; // they are still compared
  const others = sets.filter((one) => one.seen?.sets.includes(NAME));
  by("same").hidden = !others.length;
  by("same").replaceChildren(
    ...others.map((one) => {
      const [pages, other] = [count(one.seen.pages.length, "page", "pages"), editionOf(one)];
      const text = `Pass the same ${pages} in ${other}`;
      const button = el("button", { type: "button" }, text);
      button.addEventListener("click", async () => {
        button.disabled = true;
        try {
          if (await decideOn(one.name, passing(one))) {
            button.replaceWith(el("p", {}, badge("unchanged", `Passed: ${pages} in ${other}`)));
            say(`Passed: ${pages} in ${other}`);
          } else button.disabled = false;
        } catch (problem) {
          complain(problem.message);
          offered = "";
        }
      });
      return button;
    }),
  );
}

/** What tells an edition from this one. */
function editionOf(one) {
  const words = `${one.binder} on ${one.paper}, ${one.language}`;
  const product = (name) => name.slice(0, name.lastIndexOf("/"));
  return product(one.name) === product(NAME) ? words : `${one.title}, ${one.period}, ${words}`;
}

/** What concerns the set as a whole: findings on none of its pages, pages it no longer has. */
function drawElsewhere() {
  const elsewhere = by("elsewhere");
  elsewhere.hidden = !set.elsewhere.length && !set.gone.length;
  elsewhere.replaceChildren(
    ...(set.elsewhere.length
      ? [el("h2", {}, "In the set as a whole"), findingList(set.elsewhere, 0)]
      : []),
    ...(set.gone.length
      ? [
          el("h2", {}, "Gone since it was passed"),
          el(
            "ul",
            {},
            ...set.gone.map((page) => el("li", { dir: "auto" }, page.label || page.key)),
          ),
        ]
      : []),
  );
}

function movedKeys() {
  return Object.values(set.pages)
    .filter(
      (page) =>
        page.state === "moved" ||
        page.state === "seen" ||
        (page.came_from && !["sent back", "unchanged"].includes(page.state)),
    )
    .map((page) => page.key);
}

// The stage

/** How many times true size pages are shown; nothing where all of the spread is. */
function times() {
  if (zoom === "fit") return null;
  if (zoom !== "page") return Number(zoom);
  const widest = Math.max(set.width_mm / 4, ...pages().map((page) => seenAcross(page)[1]));
  return by("stage").clientWidth / (widest + 2 * EDGE_MM) / PX_PER_MM;
}

/** Where a page begins, and how much of its leaf is seen across, mm. */
function seenAcross(page) {
  if (mode !== "now") return [page.corner_mm[0], page.flat_mm[0]];
  const flap = shut[page.side] ? 0 : page.flap_mm;
  return [page.page_x_mm - (page.side === "left" ? flap : 0), page.page_mm[0] + flap];
}

const fromLeft = () => pages().toSorted((one, other) => one.page_x_mm - other.page_x_mm);

/** Table around pages that fill the width. */
const EDGE_MM = 3;

/** A box for what lies in an area of the spread (mm), at the size asked for. */
function board(area = [0, 0, set.width_mm, set.height_mm]) {
  const [x, y, width, height] = area;
  const box = el("div", { class: "board" });
  Object.assign(box.dataset, { x, y, width, height });
  box.style.setProperty("--shape", width / height);
  sizeBoard(box);
  return box;
}

/** Whole pixels of the screen, so that a tile's are neither enlarged nor smeared. */
function sizeBoard(box) {
  const scale = times();
  if (scale === null) return;
  const sharp = (mm) =>
    `${Math.round(mm * scale * PX_PER_MM * devicePixelRatio) / devicePixelRatio}px`;
  box.style.width = sharp(Number(box.dataset.width));
  box.style.height = sharp(Number(box.dataset.height));
}

/** The area of the spread that its pages take up, laid flat. */
function laidArea() {
  const left = Math.min(...pages().map((page) => page.corner_mm[0])) - EDGE_MM;
  const right = Math.max(...pages().map((page) => page.corner_mm[0] + page.flat_mm[0])) + EDGE_MM;
  const top = Math.min(...pages().map((page) => page.corner_mm[1])) - EDGE_MM;
  const bottom = Math.max(...pages().map((page) => page.corner_mm[1] + page.flat_mm[1])) + EDGE_MM;
  return pages().length ? [left, top, right - left, bottom - top] : undefined;
}

function place(element, box, x, y, width, height) {
  const area = box.dataset;
  Object.assign(element.style, {
    left: percent(x - area.x, area.width),
    top: percent(y - area.y, area.height),
    width: percent(width, area.width),
    height: percent(height, area.height),
  });
  return element;
}

/** The first of some resolutions that needs not be enlarged, or the finest. */
const enough = (dpis, dpi) => dpis.find((one) => one >= dpi - 0.5) ?? dpis.at(-1);

/** The resolution of whole pictures; below tiles it is there while they are drawn. */
function quick() {
  if (zoom !== "fit") return COARSE_DPI;
  const room = by("stage");
  const across = room.clientWidth / set.width_mm;
  const down = room.clientHeight / set.height_mm;
  const dpi = Math.min(across, phone.matches ? across : down) * devicePixelRatio * 25.4;
  // Alone it is drawn as large as it is shown: a picture that is shrunk has uneven lines.
  if (mode === "now") return WHOLE_DPIS.findLast((one) => one <= dpi) ?? WHOLE_DPIS[0];
  return enough(WHOLE_DPIS, across * devicePixelRatio * 25.4);
}

/** Has a board be as large as the pixels of its picture, where that is all there is on the stage. */
function fitSharply(box, image) {
  if (phone.matches) return;
  const dots = (mm) => Math.round((mm * quick()) / 25.4);
  const fit = (across, down) => {
    if (!across || zoom !== "fit" || mode !== "now") return;
    box.style.width = `${across / devicePixelRatio}px`;
    box.style.height = `${down / devicePixelRatio}px`;
  };
  fit(dots(set.width_mm), dots(set.height_mm)); // a pixel more or less, until it is there
  image.addEventListener("load", () => fit(image.naturalWidth, image.naturalHeight));
  fit(image.naturalWidth, image.naturalHeight);
}

/** A picture of so many mm: whole where all of it is seen, in tiles where it is enlarged. */
function pictured(address, [width, height], kind, alt) {
  const whole = ready.get(address(quick())) ?? el("img", { src: address(quick()) });
  whole.alt = alt;
  whole.className = kind;
  if (zoom === "fit") return whole;
  whole.className = "coarse";
  const dpi = enough(TILE_DPIS, 96 * times() * devicePixelRatio);
  const [across, down] = [width, height].map((mm) => Math.round((mm * dpi) / 25.4));
  const box = el("div", { class: kind }, whole);
  for (let top = 0; top < down; top += TILE_PX) {
    for (let left = 0; left < across; left += TILE_PX) {
      const tile = el("img", { class: "tile", alt: "" });
      tile.dataset.src = address(`${dpi}/${left / TILE_PX}/${top / TILE_PX}`);
      Object.assign(tile.style, {
        left: percent(left, across),
        top: percent(top, down),
        width: percent(Math.min(TILE_PX, across - left), across),
        height: percent(Math.min(TILE_PX, down - top), down),
      });
      tiles.observe(tile);
      box.append(tile);
    }
  }
  return box;
}

/** Tiles are drawn when they come to be seen. */
const tiles = new IntersectionObserver((entries) => {
  for (const { target, isIntersecting } of entries) {
    if (!isIntersecting || target.src) continue;
    target.src = target.dataset.src;
    tiles.unobserve(target);
  }
  if (set) noteSeen();
});

function spreadPicture(flaps) {
  return pictured(
    (rest) => viewPicture(at, flaps, rest),
    [set.width_mm, set.height_mm],
    flaps,
    flaps === "open" ? described() : "",
  );
}

/** Pictures that are there already, by their address, so that changing to them does not flash. */
const ready = new Map();

async function fetchFirst(fresh) {
  ready.clear();
  if (mode !== "now" || !fresh.views[at]) return;
  const addresses = shownFlaps().map((flaps) => viewPicture(at, flaps, quick(), fresh.views));
  await Promise.all(
    addresses.map(async (address) => {
      const image = new Image();
      image.src = address;
      try {
        await image.decode();
        ready.set(address, image);
      } catch {
        // It is asked for again when it is shown.
      }
    }),
  );
}

const shownFlaps = () => (view().flaps.some((side) => shut[side]) ? ["open", "shut"] : ["open"]);

function described() {
  const what = pages().map((page) => `${page.side} page: ${page.kind}, ${page.label}`);
  return `Spread in the rings. ${what.join("; ")}`;
}

function drawNow() {
  const box = board();
  const open = spreadPicture("open");
  box.append(open);
  if (zoom === "fit") fitSharply(box, open);
  if (zoom === "page") {
    for (const page of fromLeft()) {
      const [x, width] = seenAcross(page);
      const snap = el("div", { class: "snap" });
      box.append(place(snap, box, x - EDGE_MM, 0, width + 2 * EDGE_MM, 1));
    }
  }
  for (const side of view().flaps) {
    if (!shut[side]) continue;
    const over = spreadPicture("shut");
    const rings = (100 * set.rings_mm) / set.width_mm;
    over.style.clipPath =
      side === "left" ? `inset(0 ${100 - rings}% 0 0)` : `inset(0 0 0 ${rings}%)`;
    box.append(over);
  }
  for (const page of pages()) {
    if (page.flap_mm) box.append(flapButton(page, box));
    page.findings.forEach((finding, index) => {
      if (finding.place && !hidden(page, finding.place))
        box.append(...pin(page, finding, index, box));
    });
  }
  return [box];
}

/** Whether a place on a leaf is on a flap that is folded over. */
function hidden(page, [x, , width]) {
  if (!page.flap_mm || !shut[page.side]) return false;
  const middle = x + width / 2;
  return page.side === "left" ? middle < page.flap_mm : middle > page.page_mm[0];
}

function flapButton(page, box) {
  const { side } = page;
  const left = side === "left";
  const [x, y] = page.corner_mm;
  const edge = left ? page.page_x_mm : page.page_x_mm + page.page_mm[0];
  const open = left ? x : edge;
  const folded = left ? edge : edge - page.flap_mm;
  const button = el("button", {
    type: "button",
    class: `flap ${side}`,
    "aria-pressed": String(shut[side]),
    "aria-label": `${left ? "Left" : "Right"} flap shut`,
    title: shut[side] ? "Open the flap" : "Shut the flap",
    onclick: () => {
      shut[side] = !shut[side];
      draw();
      refocus(`.flap.${side}`);
    },
  });
  return place(button, box, shut[side] ? folded : open, y, page.flap_mm, page.page_mm[1]);
}

function refocus(selector) {
  by("stage").querySelector(selector)?.focus();
}

function pin(page, finding, index, box) {
  const [x, y] = page.corner_mm;
  const [left, top, width, height] = finding.place;
  const number = String(index + 1);
  const frame = place(el("div", { class: "frame" }), box, x + left, y + top, width, height);
  const dot = el(
    "button",
    {
      type: "button",
      class: "pin",
      "aria-label": `Finding ${number}: ${finding.message}`,
      title: finding.message,
      onclick: () => {
        const item = by(`finding-${page.key}-${index}`);
        item.closest("details").open = true;
        item.focus();
      },
    },
    number,
  );
  dot.style.left = percent(x + left, set.width_mm);
  dot.style.top = percent(y + top, set.height_mm);
  return [frame, dot];
}

/** Pages laid flat where they lie in the spread: as passed, as now, or their difference. */
function lay(kind, box = board(laidArea())) {
  for (const page of pages()) {
    const [x, y] = page.corner_mm;
    const spot = (element) => place(element, box, x, y, ...page.flat_mm);
    if (kind !== "page" && !(page.passed && page.kept)) {
      box.append(spot(el("p", { class: "absent" }, ...whyAbsent(page))));
      continue;
    }
    const held = kind === "page" ? "" : `&at=${page.passed.at}`;
    const name = { page: "now", passed: "as passed", difference: "difference" }[kind];
    box.append(
      spot(
        pictured(
          (rest) =>
            `${ROOT}/picture/${NAME}/flat/${kind}/${page.key}/${rest}?v=${set.files}${held}`,
          page.flat_mm,
          `laid ${kind}`,
          `${page.side} page, ${name}`,
        ),
      ),
    );
  }
  return box;
}

/** Why what was passed of a page cannot be shown, and what to do. */
function whyAbsent(page) {
  if (!page.state) return ["being compared"];
  if (!page.passed) return ["never passed"];
  return [
    `${page.passed.by} passed it on another computer or in another folder, and it has changed ` +
      "since. ",
    el("strong", {}, "To see it here, copy the folder “.passed” from the “build” folder there."),
  ];
}

function titled(text, box) {
  if (zoom === "fit") return el("figure", { class: "half" }, el("figcaption", {}, text), box);
  const pane = el("div", { class: "pane", tabindex: "0", role: "group", "aria-label": text }, box);
  // What is enlarged side by side is moved together.
  pane.addEventListener("scroll", () => {
    for (const other of panes()) other.scrollTo(pane.scrollLeft, pane.scrollTop);
  });
  return el("figure", { class: "half" }, el("figcaption", {}, text), pane);
}

/** What is scrolled to look around in what is enlarged. */
const panes = () => {
  const found = by("stage").querySelectorAll(".pane");
  return found.length ? [...found] : [by("stage")];
};

function drawBlink() {
  const box = lay("passed", lay("page"));
  const tell = el("figcaption", { class: "which" });
  const figure = el("figure", { class: "blink" }, tell, box);
  const show = () => {
    figure.classList.toggle("shows-passed", showsPassed);
    tell.textContent = showsPassed ? "as passed" : "now";
  };
  show();
  figure.show = show;
  return [figure];
}

function swap() {
  if (mode !== "blink") {
    held = true;
    setMode("blink");
  }
  showsPassed = !showsPassed;
  by("stage").querySelector(".blink")?.show();
}

function setBlinking(on) {
  clearInterval(blinking);
  blinking = on ? setInterval(swap, BLINK_MS) : null;
}

/** What the stage was drawn for: with more or less room around it, other pictures fit. */
let drawnDpi = 0;

new ResizeObserver(() => {
  if (set && zoom === "fit" && mode === "now" && quick() !== drawnDpi) drawStage();
}).observe(by("stage"));

function drawStage() {
  const stage = by("stage");
  drawnDpi = quick();
  setBlinking(mode === "blink" && !held);
  stage.className = `stage in-${mode} zoom-${zoom === "fit" || zoom === "page" ? zoom : "in"}`;
  tiles.disconnect();
  const drawn = {
    now: drawNow,
    pair: () => [titled("as passed", lay("passed")), titled("now", lay("page"))],
    blink: drawBlink,
    difference: drawDifference,
  }[mode]();
  stage.replaceChildren(...drawn);
  for (const image of stage.querySelectorAll("img")) {
    image.addEventListener("load", noteSeen);
    image.addEventListener("error", () => {
      if (image.className === "tile") image.remove();
      noteSeen();
    });
  }
  noteSeen();
  by("caption").replaceChildren(...caption());
  const shown = [...stage.querySelectorAll("img")].map((image) => image.decode());
  Promise.allSettled(shown).then(preload);
  if (document.body.dataset.watching !== undefined) askVersion().catch(() => {});
}

/** The pictures on the stage that show the spread as it is now: the rings, or its pages flat. */
const ofNow = () => [
  ...by("stage").querySelectorAll("img.open, .open > .coarse, img.laid.page, .laid.page > .coarse"),
];

/** Pages that were on the screen where one at a time is. */
const looked = new Set();

/** Notes whether the spread as it is now is on the screen, and large enough to be judged. */
function noteSeen() {
  if (!set) return;
  const all = [...by("stage").querySelectorAll("img")];
  tellWork(work || (all.every((image) => image.complete) ? "" : "Drawing…"));
  const images = ofNow();
  const whole = images.length === (mode === "now" ? 1 : view().pages.length);
  const box = images[0]?.closest(".board");
  const scale = box ? box.clientWidth / box.dataset.width : 0;
  const there = images.every((image) => image.complete && image.naturalWidth > 0);
  if (whole && there && scale >= LEAST_PX_PER_MM) {
    if (zoom === "page" && mode === "now") {
      looked.add(view().version + fromLeft()[pageAt()]?.key);
    }
    const missed = (key) => zoom === "page" && mode === "now" && !looked.has(view().version + key);
    if (!view().pages.some(missed)) {
      seen.add(view().version);
      sessionStorage.setItem(`seen ${NAME}`, JSON.stringify([...seen]));
    }
  }
  drawVerdict();
}

/** A sign over the picture of what is going on. */
function tellWork(text) {
  by("work").hidden = !text;
  by("work").textContent = text;
}

/** Which page is in the middle of the screen where one at a time is. */
function pageAt() {
  const stage = by("stage").getBoundingClientRect();
  const middle = stage.left + stage.width / 2;
  const away = [...by("stage").querySelectorAll(".snap")].map((snap) => {
    const { left, width } = snap.getBoundingClientRect();
    return Math.abs(left + width / 2 - middle);
  });
  return Math.max(0, away.indexOf(Math.min(...away)));
}

/** The page that is read first where one at a time is. */
const showFirst = () => showPage(set.right_bound ? view().pages.length - 1 : 0);

function showPage(index) {
  const snap = by("stage").querySelectorAll(".snap")[index];
  if (!snap) return;
  const stage = by("stage");
  const { left, width } = snap.getBoundingClientRect();
  const room = stage.getBoundingClientRect();
  stage.scrollLeft += left + width / 2 - room.left - room.width / 2;
  noteSeen();
}

/** Whether a spread was looked at, here or where its very pages are passed. */
const isSeen = (one) =>
  !one.pages.length ||
  seen.has(one.version) ||
  one.pages.every((key) => ["seen", "unchanged"].includes(set.pages[key].state));

/** Why the spread cannot be passed yet, if so. */
function unseen() {
  if (isSeen(view())) return "";
  if (mode === "difference") return "Look at it as it is now first.";
  if (ofNow().some((image) => !image.complete)) return "Its picture is being drawn.";
  if (!ofNow().length || ofNow().some((image) => !image.naturalWidth)) {
    return "Its picture cannot be drawn; build the set again.";
  }
  if (zoom === "page" && mode === "now") return "Look at its other page too.";
  return "Enlarge it to judge it: too small here.";
}

function caption() {
  if (mode === "blink") {
    const hold = el(
      "button",
      {
        type: "button",
        "aria-pressed": String(held),
        onclick: () => {
          held = !held;
          setBlinking(!held);
          hold.setAttribute("aria-pressed", String(held));
        },
      },
      "Hold",
    );
    const change = el(
      "button",
      { type: "button", onclick: swap },
      "Swap ",
      el("kbd", {}, keyOf("swap")),
    );
    return ["Now and as passed in turn. ", hold, " ", change];
  }
  if (mode === "difference") {
    const ink = (kind) => el("span", { class: `ink ${kind}` });
    const gap = "   ";
    return [
      changeSteps(),
      ink("lost"),
      ` only as passed${gap}`,
      ink("added"),
      ` only now${gap}`,
      ink("both"),
      " in both",
    ];
  }
  if (zoom === "1") {
    return ["True size if your screen reports its size correctly; hold a ruler to it."];
  }
  if (zoom === "page") return ["One page at a time; move it, or enlarge it with two fingers."];
  return zoom === "fit" ? [] : [`${Number(zoom).toFixed(1).replace(".0", "")} times true size.`];
}

/** The neighbours' pictures, so that turning over takes no time; they come after what is looked at. */
function preload() {
  for (const index of [at + 1, at - 1]) {
    if (set.views[index]) new Image().src = viewPicture(index, "open", quick());
  }
}

// The cards below: how each page stands

function findingList(findings, key) {
  return el(
    "ol",
    { class: "findings" },
    ...findings.map((finding, index) =>
      el(
        "li",
        { id: `finding-${key}-${index}`, tabindex: "-1" },
        el("span", { class: "badge finding" }, sign("finding"), finding.severity),
        " ",
        el("span", { dir: "auto" }, finding.message),
        finding.remedy ? el("span", { class: "remedy", dir: "auto" }, `; ${finding.remedy}`) : null,
      ),
    ),
  );
}

/** The pages whose findings are unfolded. */
const unfolded = new Set();

/** The findings of a page, folded, so that the picture keeps its room; pins tell where they are. */
function foldedFindings(page) {
  const worded = count(page.findings.length, "finding", "findings");
  return el(
    "details",
    {
      open: unfolded.has(page.key),
      ontoggle: ({ target }) => {
        if (target.open) unfolded.add(page.key);
        else unfolded.delete(page.key);
      },
    },
    el("summary", {}, el("span", { class: "badge finding" }, sign("finding"), worded)),
    findingList(page.findings, page.key),
  );
}

/** Days of the spread whose feasts and notes found no room: what is printed, and all there is. */
function leftOut(days) {
  if (!days.length) return [];
  const told = `No room for all notes of ${count(days.length, "day", "days")}`;
  return [
    el(
      "section",
      { class: "card", "aria-label": "Notes without room" },
      el("h3", {}, el("span", { class: "badge finding" }, sign("finding"), told)),
      el("p", { class: "place" }, "What is printed, and for what:"),
      el("ul", { class: "words" }, ...days.map((day) => el("li", { dir: "auto" }, day))),
    ),
  ];
}

/** Whether a page was passed here and shows something else now. */
const hasChanged = (page) => page.state === "changed" || (page.state === "seen" && page.passed);

function card(page) {
  const lines = [];
  if (page.state === "sent back" || page.back) {
    const mended = page.state === "sent back" ? "" : " It changed since.";
    lines.push(
      el(
        "p",
        { class: "note", dir: "auto" },
        `Sent back by ${page.back.by}, ${when(page.back.at)}: “${page.back.note}”${mended}`,
      ),
    );
  }
  if (page.passed) {
    const word = page.state === "unchanged" ? "Passed" : "Last passed";
    lines.push(el("p", {}, `${word} by ${page.passed.by}, ${when(page.passed.at)}`));
  }
  if (page.came_from && page.state !== "unchanged") {
    lines.push(el("p", {}, `Shows what is passed as ${page.came_from}`));
  }
  if (page.seen_in) lines.push(el("p", {}, `Seen already, and passed, in ${page.seen_in}`));
  if (hasChanged(page)) {
    const words = el("p", { class: "words" }, "");
    lines.push(words);
    tellDifference(page, words);
  }
  return el(
    "section",
    { class: "card", "aria-label": `${page.side} page` },
    el("h3", {}, badge(page.state), el("span", { dir: "auto" }, page.kind)),
    el("p", { class: "place" }, `${page.side} page · ${page.where}`),
    ...lines,
    page.findings.length ? foldedFindings(page) : null,
  );
}

/** What is different on pages, as it was told once, by page, files and what was passed. */
const differences = new Map();
function differenceOf(page) {
  const name = `${page.key} ${set.files} ${page.passed.at}`;
  if (!differences.has(name)) differences.set(name, ask(`/api/set/${NAME}/difference/${page.key}`));
  return differences.get(name);
}

async function tellDifference(page, into) {
  into.textContent = "Comparing…";
  try {
    const answer = await differenceOf(page);
    if (!answer.kept) into.replaceChildren(...whyAbsent(page));
    else {
      const words = (list) => list.map((word) => `“${word}”`).join(", ");
      into.textContent = [
        answer.lost.length ? `No longer there: ${words(answer.lost)}.` : "",
        answer.added.length ? `New: ${words(answer.added)}.` : "",
        !answer.lost.length && !answer.added.length ? "The same words, drawn differently." : "",
        answer.pixels ? ` ${count(answer.pixels, "pixel differs", "pixels differ")}.` : "",
      ].join(" ");
    }
  } catch (problem) {
    into.textContent = problem.message;
  }
}

// Changes, one after the other

/** The places of a spread that have changed, page by page, each [x, y, width, height] in mm. */
async function changesOf(shown) {
  const changed = shown.filter((page) => hasChanged(page) && page.kept);
  const answers = await Promise.all(changed.map(differenceOf));
  return answers.flatMap(({ places }, index) =>
    places.map(([x, y, width, height]) => {
      const [left, top] = changed[index].corner_mm;
      return { side: changed[index].side, area: [left + x, top + y, width, height] };
    }),
  );
}

function drawDifference() {
  const box = lay("difference");
  ringChanges(box).catch((problem) => complain(problem.message));
  return [box];
}

async function ringChanges(box) {
  const found = await changesOf(pages());
  if (!box.isConnected) return;
  change = Math.min(change, Math.max(0, found.length - 1));
  for (const [index, { area }] of found.entries()) {
    const [x, y, width, height] = area;
    const ring = el("div", { class: index === change ? "ring present" : "ring" });
    const around = [x - RING_MM, y - RING_MM, width + 2 * RING_MM, height + 2 * RING_MM];
    box.append(place(ring, box, ...around));
  }
  const steps = by("changes");
  steps.hidden = false;
  for (const button of steps.querySelectorAll("button")) button.disabled = found.length < 2;
  by("change").textContent = found.length
    ? `Change ${change + 1} of ${found.length}`
    : "Nothing has changed here.";
}

/** How far a ring keeps clear of what it shows. */
const RING_MM = 3;

/** Buttons for the change before and the next one. */
function changeSteps() {
  const step = (act, steps, text) =>
    el(
      "button",
      { type: "button", onclick: () => stepChange(steps) },
      text,
      el("kbd", {}, keyOf(act)),
    );
  return el(
    "span",
    { id: "changes", hidden: true },
    step("before", -1, "Previous "),
    " ",
    el("span", { id: "change" }),
    " ",
    step("after", 1, "Next "),
  );
}

async function stepChange(steps) {
  const first = mode !== "difference";
  if (first) setMode("difference");
  try {
    const found = await changesOf(pages());
    if (!found.length) return say("Nothing has changed on this spread.");
    change = first ? 0 : (change + steps + found.length) % found.length;
    const rings = [...by("stage").querySelectorAll(".ring")];
    for (const [index, ring] of rings.entries()) {
      ring.classList.toggle("present", index === change);
    }
    const told = `Change ${change + 1} of ${found.length}`;
    by("change").textContent = told;
    say(`${told}, ${found[change].side} page`);
    if (zoom === "fit") rings[change]?.scrollIntoView({ block: "nearest" });
    else showPlace(found[change].area);
  } catch (problem) {
    complain(problem.message);
  }
}

/** Moves what is enlarged so that an area of the spread (mm) is in the middle, or what begins at
 * a point near the upper left corner. */
function showPlace([x, y, width, height]) {
  const [pane] = panes();
  const box = pane.querySelector(".board");
  const { left, top } = box.getBoundingClientRect();
  const room = pane.getBoundingClientRect();
  const scale = box.clientWidth / box.dataset.width;
  // What is larger than the pane, or a point, is shown from where it begins.
  const away = (start, length, before, whole) => {
    const large = length === 0 || length * scale > 0.8 * whole;
    const from = large ? start : start + length / 2;
    return before + from * scale - (large ? 0.1 : 0.5) * whole;
  };
  pane.scrollBy(
    away(x - box.dataset.x, width, left - room.left, room.width),
    away(y - box.dataset.y, height, top - room.top, room.height),
  );
}

/** Shows of what is enlarged what is worth seeing: what has changed, or where its ink begins. */
async function showWorth() {
  if (zoom === "fit" || zoom === "page") return;
  const [shown, drawn] = [view(), by("stage").firstChild];
  try {
    const found = await changesOf(pages());
    let area = found[Math.min(change, found.length - 1)]?.area;
    if (!area) {
      const flaps = shownFlaps().at(-1);
      const ink = await ask(`/api/set/${NAME}/first-ink/${at}/${flaps}?v=${shown.version}`);
      if (ink.at) area = [...ink.at, 0, 0];
    }
    if (!area || drawn !== by("stage").firstChild) return;
    showPlace(area);
    shownFirst = whereNow();
  } catch (problem) {
    complain(problem.message);
  }
}

function drawCards() {
  by("cards").replaceChildren(...pages().map(card), ...leftOut(view().left_out));
  drawVerdict();
}

/** How the spread stands, and whether it can be decided on. */
function drawVerdict() {
  const keys = view().pages;
  const state = keys.length ? worst(keys) : "unchanged";
  const why = state === "unchanged" ? "" : unseen();
  by("verdict").replaceChildren(
    keys.length ? badge(state) : "Nothing is printed here.",
    trouble ? el("strong", { class: "why" }, trouble) : "",
    why && !trouble ? el("span", { class: "why" }, why) : "",
  );
  by("pass-view").disabled = !keys.length || state === "unchanged" || why !== "";
  by("send-view").disabled = !keys.length;
}

// All of it

/** Draws what is known; the stage can stay as it is when only what was decided is new. */
function draw(stageToo = true) {
  if (!set) return;
  at = Math.min(at, set.views.length - 1);
  by("view-title").textContent = view().title;
  const number = `spread ${at + 1} of ${set.views.length}`;
  by("view-title").append(el("span", { class: "number" }, number));
  const first = set.right_bound ? set.views.length - 1 : 0;
  const last = set.views.length - 1 - first;
  by("previous").disabled = at === first;
  by("next").disabled = at === last;
  for (const [act, button] of Object.entries(SHOWN)) {
    by(button).querySelector("kbd").textContent = keyOf(act);
  }
  const all = view().flaps.length > 0 && view().flaps.every((side) => shut[side]);
  by("flaps").disabled = !view().flaps.length || mode !== "now";
  by("flaps").setAttribute("aria-pressed", String(all));
  drawList();
  drawProgress();
  drawSetNote();
  drawPassMoved();
  drawElsewhere();
  if (stageToo) drawStage();
  drawCards();
}

function turnTo(index) {
  if (index < 0 || index >= set.views.length || index === at) return;
  at = index;
  change = 0;
  trouble = "";
  history.replaceState(null, "", `#${at + 1}`);
  closeNote();
  draw();
  by("stage").scrollTo(0, 0);
  showFirst();
  showWorth();
  say(
    `${view().title}, spread ${at + 1} of ${set.views.length}, ${STATES[worst(view().pages)] ?? "being compared"}`,
  );
}

/** To the left or right in the binder; a binder bound on the right is read the other way. */
function turn(step) {
  const next = pageAt() + step;
  if (zoom === "page" && mode === "now" && next >= 0 && next < view().pages.length) {
    showPage(next);
    say(`${fromLeft()[next].side} page`);
    return;
  }
  turnTo(at + (set.right_bound ? -step : step));
  if (zoom === "page") showPage(step > 0 ? 0 : view().pages.length - 1);
}

function nextOpen() {
  const order = set.views.map((_, index) => (at + 1 + index) % set.views.length);
  const found = order.find(
    (index) => set.views[index].pages.length && worst(set.views[index].pages) !== "unchanged",
  );
  if (found === undefined) say("Everything is passed.");
  else if (found === at) draw();
  else turnTo(found);
}

function setMode(value) {
  const kept = Number(zoom) && set ? middle() : null;
  mode = value;
  showsPassed = false;
  document.querySelector(`[name=mode][value=${value}]`).checked = true;
  draw();
  if (kept) showPlace(kept);
}

function setZoom(value) {
  const whole = zoom === "fit" || zoom === "page";
  const kept = whole || whereNow() === shownFirst ? null : middle();
  zoom = value;
  for (const input of document.querySelectorAll("[name=zoom]")) {
    input.checked = input.value === zoom;
  }
  draw();
  // Who has looked around goes on at the same place.
  if (kept) showPlace(kept);
  else showWorth();
}

/** The middle of what is seen of the spread, as an area of it (mm). */
function middle() {
  const [pane] = panes();
  const box = pane.querySelector(".board");
  const { left, top } = box.getBoundingClientRect();
  const room = pane.getBoundingClientRect();
  const scale = box.clientWidth / box.dataset.width;
  const x = Number(box.dataset.x) + (room.left + room.width / 2 - left) / scale;
  const y = Number(box.dataset.y) + (room.top + room.height / 2 - top) / scale;
  return [x - 0.5, y - 0.5, 1, 1];
}

const whereNow = () =>
  JSON.stringify([zoom, panes().map((pane) => [pane.scrollLeft, pane.scrollTop])]);
/** Size and place as they were shown first, to see whether somebody has looked around since. */
let shownFirst = "";

// Two fingers enlarge

/** What two fingers took hold of: how far apart they were, the size then, and the place. */
let pinch = null;

function pinched(touches) {
  const [one, other] = [...touches];
  return {
    apart: Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY),
    x: (one.clientX + other.clientX) / 2,
    y: (one.clientY + other.clientY) / 2,
  };
}

function pinchStart(event) {
  const box = event.target.closest?.(".board");
  if (event.touches.length !== 2 || !box) return;
  event.preventDefault();
  const { apart, x, y } = pinched(event.touches);
  const { left, top } = box.getBoundingClientRect();
  const scale = box.clientWidth / box.dataset.width;
  const spot = [(x - left) / scale, (y - top) / scale];
  pinch = { apart, box, spot, from: scale / PX_PER_MM };
  zoom = pinch.from;
  by("stage").className = `stage in-${mode} zoom-in`;
  pinchMove(event);
}

function pinchMove(event) {
  if (!pinch || event.touches.length !== 2) return;
  event.preventDefault();
  const { apart, x, y } = pinched(event.touches);
  const least = by("stage").clientWidth / pinch.box.dataset.width / PX_PER_MM;
  zoom = Math.min(LARGEST, Math.max(least, (pinch.from * apart) / pinch.apart));
  for (const box of by("stage").querySelectorAll(".board")) sizeBoard(box);
  const pane = pinch.box.closest(".pane") ?? by("stage");
  const { left, top } = pinch.box.getBoundingClientRect();
  const scale = zoom * PX_PER_MM;
  pane.scrollBy(left + pinch.spot[0] * scale - x, top + pinch.spot[1] * scale - y);
}

function pinchEnd() {
  if (!pinch) return;
  pinch = null;
  const kept = middle();
  for (const input of document.querySelectorAll("[name=zoom]")) input.checked = false;
  draw();
  showPlace(kept);
}

function toggleFlaps() {
  if (mode !== "now" || !view().flaps.length) return;
  const all = view().flaps.every((side) => shut[side]);
  shut = { left: !all, right: !all };
  draw();
  say(all ? "Flaps open" : "Flaps shut");
}

function openKeys() {
  drawKeys();
  by("keys").showModal();
}

async function decide(body, done) {
  const begin = () => {
    decisions += 1;
    trouble = "";
    work = "Writing it down…";
    noteSeen();
  };
  try {
    const answer = await decideOn(NAME, { files: set.files, ...body }, begin);
    if (!answer) return false;
    set = answer;
    work = "";
    draw(mode !== "now");
    noteSeen();
    say(done);
    return true;
  } catch (problem) {
    work = "";
    complain(problem.message);
    await refresh();
    return false;
  }
}

function complain(text) {
  trouble = text;
  if (set) drawVerdict();
  say(text);
}

async function passView() {
  if (by("pass-view").disabled) return;
  const [here, title] = [at, view().title];
  const passed = await decide({ verdict: "pass", pages: view().pages }, `${title}: passed`);
  // Whoever has turned over meanwhile stays where they are.
  if (passed && at === here) nextOpen();
}

function openNote() {
  if (by("send-view").disabled) return;
  by("note-form").hidden = false;
  by("note").value = pages().find((page) => page.state === "sent back")?.back.note ?? "";
  by("note").focus();
}

function closeNote() {
  by("note-form").hidden = true;
}

async function sendView() {
  const note = by("note").value.trim();
  if (!note) {
    by("note").focus();
    say("Say in a note what is wrong.");
    return;
  }
  const sent = await decide(
    { verdict: "send back", pages: view().pages, note },
    `${view().title}: sent back`,
  );
  if (sent) {
    closeNote();
    by("stage").focus();
  }
}

function askWhole(passing) {
  const dialog = by("whole-set");
  const open = Object.values(set.pages).filter((page) => page.state !== "unchanged").length;
  const found = set.findings
    ? ` The proof has ${count(set.findings, "finding", "findings")} in this set.`
    : "";
  const unlooked = passing
    ? set.views.filter((one) => worst(one.pages) !== "unchanged" && !isSeen(one)).length
    : 0;
  by("whole-do").disabled = unlooked > 0;
  by("whole-title").textContent = passing ? "Pass the whole set?" : "Send the set back?";
  by("whole-text").textContent = passing
    ? `${count(open, "page is", "pages are")} not passed yet.${found}` +
      (unlooked
        ? ` ${count(unlooked, "spread was", "spreads were")} not on the screen yet: step through` +
          " the set first."
        : "")
    : "Single spreads are sent back below their picture; this is for what concerns them all.";
  by("whole-note-row").hidden = passing;
  by("whole-note").value = set.sent_back?.note ?? "";
  by("whole-do").textContent = passing ? "Pass all of it" : "Send back";
  dialog.returnValue = "";
  dialog.onclose = () => {
    // Not on the button again: a key pressed now is meant for the spread.
    by("stage").focus({ preventScroll: true });
    if (dialog.returnValue !== "do") return;
    const note = by("whole-note").value.trim();
    if (passing) decide({ verdict: "pass", whole: true, pages: [] }, "The set is passed for press");
    else decide({ verdict: "send back", whole: true, pages: [], note }, "The set is sent back");
  };
  dialog.showModal();
}

async function refresh() {
  const before = decisions;
  const fresh = await ask(`/api/set/${NAME}`);
  // What was asked before a decision may be answered after it, and is old then.
  if (before !== decisions) return;
  // What the stage shows besides the pictures of now: what is pinned on it, what it is held against.
  const pinned = (one) =>
    JSON.stringify(
      Object.values(one.pages).map((page) => [
        page.findings,
        page.passed?.at,
        page.kept,
        page.state,
      ]),
    );
  const looksTheSame = set?.views[at]?.version === fresh.views[at]?.version;
  const same = set && looksTheSame && pinned(set) === pinned(fresh);
  if (set && !looksTheSame) {
    await fetchFirst(fresh);
    if (before !== decisions) return;
  }
  const first = !set;
  const places = panes().map((pane) => [pane.scrollLeft, pane.scrollTop]);
  set = fresh;
  draw(!same);
  for (const [index, pane] of panes().entries()) pane.scrollTo(...(places[index] ?? [0, 0]));
  if (first && phone.matches) {
    // What the page is for comes first where there is little room.
    by("stage").closest(".work").scrollIntoView();
    showFirst();
  }
  ready.clear();
  return !looksTheSame;
}

/** Tells the desk what is on the screen, so that this comes first when drawings change. */
function askVersion() {
  const shown = set
    ? `?at=${at}&dpi=${quick()}&flaps=${shownFlaps().length > 1 ? "shut" : "open"}`
    : "";
  return ask(`/api/set/${NAME}/version${shown}`);
}

let timer = 0;
let looking = false;
let lookAgain = false;
/** Whether the desk did not answer when it was asked last. */
let silent = false;

/** Checks now and then whether the set was built again, compared, or decided on at another desk. */
async function watch() {
  if (looking) {
    lookAgain = true;
    return;
  }
  looking = true;
  clearTimeout(timer);
  try {
    do {
      lookAgain = false;
      if (!set) {
        await refresh();
        version = set?.version ?? "";
        continue;
      }
      const answer = await askVersion();
      if (silent) {
        silent = false;
        trouble = "";
        if (set) drawVerdict();
      }
      if (answer.version === version) continue;
      const before = set?.files;
      const looksNew = await refresh();
      if (version && before !== set.files) {
        say(looksNew ? "Refreshed." : "The set was built again; this spread is as it was.");
      }
      version = answer.version;
    } while (lookAgain);
  } catch (problem) {
    silent = true;
    complain(`The desk does not answer: ${problem.message}`);
  }
  looking = false;
  timer = setTimeout(watch, set?.counts && set.findings !== null ? 2500 : 700);
}

document.addEventListener("updates", watch);

/** What keys do: a key to begin with, what it is called on the list of keys, and what it does. */
const ACTS = {
  pass: ["Enter", "pass this spread and go on", passView],
  send: ["Backspace", "send it back with a note", openNote],
  open: ["O", "the next one that is not passed", nextOpen],
  flaps: ["L", "flaps open, shut", toggleFlaps],
  zoom: ["Z", "fit, true size, four times", () => setZoom(following(ZOOMS, zoom))],
  swap: ["Space", "swap now and as passed", swap],
  two: ["T", "passed and now, side by side", () => setMode(mode === "pair" ? "now" : "pair")],
  turns: ["I", "blink", () => setMode(mode === "blink" ? "now" : "blink")],
  before: [",", "the change before", () => stepChange(-1)],
  after: [".", "the next change", () => stepChange(1)],
  apart: ["U", "difference", () => setMode(mode === "difference" ? "now" : "difference")],
};
/** The buttons that tell their keys. */
const SHOWN = { pass: "pass-view", send: "send-view" };

const following = (list, one) => list[(list.indexOf(one) + 1) % list.length];

/** Keys that were chosen, by what they do. */
let chosen = keptKeys();
function keptKeys() {
  try {
    return JSON.parse(cookie("leafset-keys")) ?? {};
  } catch {
    return {}; // none were chosen, or another page of this machine wrote something else there
  }
}
const keyOf = (act) => chosen[act] ?? ACTS[act][0];
const pressed = (event) =>
  event.key === " " ? "Space" : event.key.length === 1 ? event.key.toUpperCase() : event.key;

/** The list of keys; one that is clicked takes the key that is pressed next. */
function drawKeys() {
  by("key-list").replaceChildren(
    ...Object.entries(ACTS).map(([act, [, what]]) => {
      const named = `${keyOf(act)}, the key to ${what}`;
      const button = el(
        "button",
        { type: "button", "aria-label": named, "data-act": act },
        keyOf(act),
      );
      button.addEventListener("click", () => {
        button.textContent = "press a key";
      });
      button.addEventListener("blur", () => {
        button.textContent = keyOf(act);
      });
      button.addEventListener("keydown", (event) => {
        if (button.textContent !== "press a key" || event.key === "Tab") return;
        event.preventDefault();
        event.stopPropagation();
        if (event.key !== "Escape") choose(act, pressed(event));
        drawKeys();
        by("key-list").querySelector(`[data-act=${act}]`).focus();
      });
      return el("div", {}, el("dt", {}, button), el("dd", {}, what));
    }),
  );
}

/** Gives a key to an act; whatever had it takes the other's. */
function choose(act, key) {
  if (key.startsWith("Arrow") || key === "?") return;
  const other = Object.keys(ACTS).find((one) => keyOf(one) === key);
  if (other) chosen[other] = keyOf(act);
  chosen[act] = key;
  keepCookie("leafset-keys", JSON.stringify(chosen));
  draw(false);
}

document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && !by("note-form").hidden) {
    closeNote();
    by("send-view").focus();
    return;
  }
  const typing = event.target.closest?.("textarea, dialog[open], input:not([type=radio])");
  if (!set || typing || event.ctrlKey || event.metaKey || event.altKey) return;
  const arrow = ["ArrowLeft", "ArrowRight"].includes(event.key);
  if (!arrow && !by("keys-on").checked) return;
  // Arrows choose among radio buttons and scroll what is enlarged; elsewhere they turn over.
  if (arrow && event.target.matches?.("input[type=radio]")) return;
  if (arrow && zoom !== "fit" && panes().includes(event.target)) return;
  if (event.key === "?") return openKeys();
  if (arrow) {
    event.preventDefault();
    return turn(event.key === "ArrowLeft" ? -1 : 1);
  }
  const key = pressed(event);
  // On a button or a link these two do what they always do.
  if (["Enter", "Space"].includes(key) && event.target.closest?.("button, a, summary, label"))
    return;
  const act = Object.keys(ACTS).find((one) => keyOf(one) === key);
  if (!act) return;
  event.preventDefault();
  ACTS[act][2]();
});

by("previous").addEventListener("click", () => turn(-1));
by("next").addEventListener("click", () => turn(1));
by("flaps").addEventListener("click", toggleFlaps);
by("keys-open").addEventListener("click", openKeys);
by("keys-usual").addEventListener("click", () => {
  chosen = {};
  keepCookie("leafset-keys", "{}");
  drawKeys();
  draw(false);
});
let width = innerWidth;
addEventListener("resize", () => {
  // A phone's own bars come and go while one scrolls.
  if (set && zoom === "page" && width !== innerWidth) draw();
  width = innerWidth;
  noteSeen();
});
by("stage").addEventListener("scroll", () => zoom === "page" && noteSeen());
by("stage").addEventListener("touchstart", pinchStart, { passive: false });
by("stage").addEventListener("touchmove", pinchMove, { passive: false });
by("stage").addEventListener("touchend", pinchEnd);
by("stage").addEventListener("touchcancel", pinchEnd);
by("who-open").addEventListener("click", () => {
  by("keys").close();
  askWho();
});
document.querySelector(`[name=zoom][value=${zoom}]`).checked = true;
by("keys-on").checked = cookie("leafset-single-keys") !== "off";
by("keys-on").addEventListener("change", (event) =>
  keepCookie("leafset-single-keys", event.target.checked ? "on" : "off"),
);
by("decide").addEventListener("submit", (event) => {
  event.preventDefault();
  passView();
});
by("send-view").addEventListener("click", openNote);
by("note-cancel").addEventListener("click", () => {
  closeNote();
  by("send-view").focus();
});
by("note-send").addEventListener("click", sendView);
by("note").addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) sendView();
});
by("pass-moved").addEventListener("click", () =>
  decide({ verdict: "pass", pages: movedKeys() }, "Passed what was seen already"),
);
by("pass-set").addEventListener("click", () => askWhole(true));
by("send-set").addEventListener("click", () => askWhole(false));
for (const input of document.querySelectorAll("[name=mode]")) {
  input.addEventListener("change", () => setMode(input.value));
}
for (const input of document.querySelectorAll("[name=zoom]")) {
  input.addEventListener("change", () => setZoom(input.value));
}
addEventListener(
  "hashchange",
  () => set && turnTo((parseInt(location.hash.slice(1), 10) || 1) - 1),
);
watch();
