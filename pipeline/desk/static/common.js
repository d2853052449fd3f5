// What all pages of the desk share. Text is only ever set as text, never as markup.

export const STATES = {
  unchanged: "passed",
  moved: "moved",
  seen: "seen already",
  changed: "changed",
  new: "new",
  "sent back": "sent back",
  gone: "gone",
};
/** The worst first: what a spread is called when its pages differ. */
export const WORST = ["sent back", "changed", "new", "seen", "moved", "gone", "unchanged"];

/**
 * Pixels to the inch that whole pictures can be asked for: so many that one shown without enlarging
 * or shrinking is nearly as large as there is room.
 */
export const WHOLE_DPIS = [
  40, 48, 52, 56, 60, 64, 68, 72, 77, 82, 88, 94, 100, 110, 118, 126, 136, 146, 157, 168, 180, 192,
  210, 230, 260, 288,
];

/** What the addresses of a season's pages begin with. */
export const ROOT = document.documentElement.dataset.root ?? "";

export const by = (id) => document.getElementById(id);

/** An element with attributes and children; strings become text. */
export function el(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (key === "style") Object.assign(element.style, value);
    else element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

/** A small drawing that goes with a word; it says nothing itself. */
export function sign(name) {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  svg.setAttribute("class", "sign");
  svg.setAttribute("aria-hidden", "true");
  const use = document.createElementNS(space, "use");
  use.setAttribute("href", `#sign-${name.replace(" ", "-")}`);
  svg.append(use);
  return svg;
}

/** A state as sign and word. */
export function badge(state, text) {
  const kind = state ?? "none";
  const word = text ?? (state ? STATES[state] : "being compared");
  return el("span", { class: `badge ${kind.replace(" ", "-")}` }, sign(kind), word);
}

export async function ask(address) {
  const answer = await fetch(ROOT + address, { headers: { Accept: "application/json" } });
  if (!answer.ok) throw new Error(await answer.text());
  return answer.json();
}

export async function send(address, body) {
  const answer = await fetch(ROOT + address, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  });
  if (!answer.ok) throw new Error(await answer.text());
  return answer.json();
}

// Cookies, because the desk's port may be another next time and local storage goes by the port.
export function cookie(name) {
  const kept = document.cookie.split("; ").find((pair) => pair.startsWith(`${name}=`));
  return kept ? decodeURIComponent(kept.slice(name.length + 1)) : "";
}

export function keepCookie(name, value) {
  const year = 365 * 24 * 60 * 60;
  document.cookie = `${name}=${encodeURIComponent(value)}; max-age=${year}; path=/; samesite=strict`;
}

/** Asks who decides; gives the name, or nothing when that was cancelled. */
export function askWho() {
  const dialog = by("who");
  by("who-name").value = cookie("leafset-name");
  by("who-cancel").onclick = () => dialog.close();
  dialog.returnValue = "";
  return new Promise((resolve) => {
    dialog.onclose = () => {
      const name = dialog.returnValue === "do" ? by("who-name").value.trim() : "";
      if (name) keepCookie("leafset-name", name);
      resolve(name);
    };
    dialog.showModal();
  });
}

/** Sends a decision on a set, with the name of who decides, which is asked once; nothing where that
 * was cancelled. */
export async function decideOn(name, body, meanwhile = () => {}) {
  const who = cookie("leafset-name") || (await askWho());
  if (!who) return null;
  meanwhile();
  return send(`/api/set/${name}/decide`, { who, ...body });
}

/** The decision that passes what is passed in another set already. */
export const passing = (set) => ({ verdict: "pass", files: set.files, pages: set.seen.pages });

/** Where pages were seen before: "A5 on A4", "A5 on A4 and 2 other sets". */
export function seenIn(sets) {
  const [first, ...more] = sets;
  return more.length ? `${first} and ${count(more.length, "other set", "other sets")}` : first;
}

/** Tells those who listen instead of looking. */
export function say(text) {
  by("said").textContent = text;
}

/** Has a box say that its picture is being drawn until it is there, or that it cannot be. */
export function awaited(box, image, then = () => {}) {
  if (image.naturalWidth) return;
  box.classList.add("awaited");
  const done = () => {
    box.classList.remove("awaited");
    then();
  };
  image.addEventListener("load", done);
  image.addEventListener("error", () => {
    image.replaceWith(el("span", { class: "missing" }, "could not be drawn"));
    done();
  });
}

export function count(number, one, several) {
  return `${number} ${number === 1 ? one : several}`;
}

/** A time of the record as this browser's user writes it. */
export function when(at) {
  const time = new Date(at);
  if (Number.isNaN(time.getTime())) return at;
  return time.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}

/** A bar of how many pages are in each state; the words beside it say the same. */
export function fillBar(bar, counts) {
  const whole = Object.values(counts ?? {}).reduce((sum, some) => sum + some, 0);
  bar.replaceChildren(
    ...WORST.toReversed()
      .filter((state) => counts?.[state])
      .map((state) =>
        el("span", {
          class: state.replace(" ", "-"),
          style: { width: `${(100 * counts[state]) / whole}%` },
        }),
      ),
  );
}
