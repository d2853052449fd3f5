import { ask, awaited, by, el, ROOT, say, WHOLE_DPIS } from "./common.js";

const stage = by("stage");
const set = by("main").dataset.set;
const { edition } = stage.dataset;
const phone = matchMedia("(max-width: 48rem)");
/** Room around a page for the lines that show where it is cut, in pixels. */
const AROUND = edition === "press" ? 56 : 24;

let files = by("main").dataset.files;
let about;
let at = 0;

const figure = (value) => String(Math.round(value * 10) / 10);

/** How fine and how wide a page fits the window: a picture that is shrunk has uneven lines. */
function fitting({ width_mm, height_mm }) {
  const across = (stage.clientWidth - AROUND) / width_mm;
  const down = (stage.clientHeight - AROUND) / height_mm;
  const most = phone.matches ? across : Math.min(across, down);
  const dots = most * devicePixelRatio * 25.4;
  const dpi = WHOLE_DPIS.findLast((one) => one <= dots) ?? WHOLE_DPIS[0];
  const wide = Math.round((width_mm * dpi) / 25.4) / devicePixelRatio;
  return { dpi, width: `${Math.min(wide, most * width_mm)}px` };
}

/** The lines outside a page that show where it is cut. */
function cutLines({ width_mm, height_mm, trim_mm }) {
  if (!trim_mm) return [];
  const [x, y, width, height] = trim_mm;
  const line = (kind, side, share) =>
    el("span", { class: `cut-line ${kind}`, style: { [side]: `${100 * share}%` } });
  return [
    ...[x, x + width].flatMap((one) =>
      ["above", "below"].map((kind) => line(kind, "left", one / width_mm)),
    ),
    ...[y, y + height].flatMap((one) =>
      ["before", "behind"].map((kind) => line(kind, "top", one / height_mm)),
    ),
  ];
}

function told({ width_mm, height_mm, trim_mm, bleed_mm }) {
  if (!trim_mm) return `${figure(width_mm)} × ${figure(height_mm)} mm at 100 %.`;
  const inks = ["cyan", "magenta", "yellow", "black", ...about.inks];
  const size = `${figure(trim_mm[2])} × ${figure(trim_mm[3])} mm`;
  const cut = about.together
    ? `The leaves lie within ${size}, between the lines outside the sheet`
    : `Cut to ${size}, at the lines outside the page`;
  return (
    `${cut}; printed ${figure(bleed_mm)} mm past that. ` +
    `Inks: ${inks.join(", ")}; profile: ${about.profile}.`
  );
}

function show() {
  const page = about.pages[at];
  const { dpi, width } = fitting(page);
  const image = el("img", {
    src: `${ROOT}/picture/${set}/${edition}/${at}/${dpi}?v=${files}`,
    alt: `Page ${at + 1}: ${page.title}`,
  });
  const style = { width, aspectRatio: `${page.width_mm} / ${page.height_mm}` };
  const box = el("div", { class: "paper", style }, image, ...cutLines(page));
  stage.replaceChildren(box);
  awaited(box, image);
  const number = el("span", { class: "number" }, `${at + 1} of ${about.pages.length}`);
  by("view-title").replaceChildren(page.title, number);
  by("caption").textContent = told(page);
  by("previous").disabled = at === 0;
  by("next").disabled = at === about.pages.length - 1;
}

function turn(step) {
  if (!about?.pages[at + step]) return;
  at += step;
  show();
  say(`Page ${at + 1}: ${about.pages[at].title}`);
}

async function read() {
  try {
    about = await ask(`/api/set/${set}/${edition}`);
  } catch (problem) {
    stage.replaceChildren(el("p", { class: "missing" }, problem.message));
    return;
  }
  at = Math.min(at, about.pages.length - 1);
  show();
}

by("previous").addEventListener("click", () => turn(-1));
by("next").addEventListener("click", () => turn(1));
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "ArrowLeft") turn(-1);
  if (event.key === "ArrowRight") turn(1);
});
window.addEventListener("resize", () => about && show());
document.addEventListener("updates", ({ detail }) => {
  const now = detail.files?.[set];
  if (!now || now === files) return;
  files = now;
  read().then(() => say("Refreshed."));
});
await read();
