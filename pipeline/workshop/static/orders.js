// Orders of single buyers: which forms there are, what is made of them, and what waits.
import { ROOT, ask, awaited, by, count, el, send } from "/static/common.js";

const MOST = 100; // orders that are listed at once; the others are found by their numbers

let about = { forms: [], work: { state: "none" }, waiting: [], made: [] };
let asked = ""; // the order that somebody is about to forget

function wrong(problem) {
  by("orders-wrong").textContent = problem?.message ?? "";
  by("orders-wrong").hidden = !problem;
}

const ENDED = {
  stopped: "Stopped. What was finished is kept; making them again goes on from there.",
  "broken off": "The last run broke off. What was finished is kept; make them again to go on.",
};

function told({ form, counts, not_passed }) {
  const parts = Object.entries(counts).map(([state, many]) => `${many} ${state}`);
  const passed = not_passed.length
    ? ` Not passed for press: ${not_passed.join(", ")}. Look at them at the desk first.`
    : "";
  return `${form}: ${parts.join(", ")}.${passed}`;
}

function drawWork({ work, forms }) {
  const making = work.state === "making";
  by("orders-bar").hidden = !making;
  by("stop-orders").hidden = !making;
  by("make-orders").disabled = making || !forms.length;
  if (making) {
    by("orders-bar").max = work.whole || 1;
    by("orders-bar").value = work.done;
    by("orders-work").textContent = work.whole
      ? `${work.done} of ${work.whole}: ${work.what}`
      : "Reading the form…";
  } else if (work.state === "done") by("orders-work").textContent = told(work);
  else if (work.state === "failed") by("orders-work").textContent = work.problem;
  else if (work.state in ENDED) by("orders-work").textContent = ENDED[work.state];
  by("refused").replaceChildren(...(work.refused ?? []).map((line) => el("li", {}, line)));
  return making;
}

function drawForms(forms) {
  by("order-from").hidden = by("make-orders").hidden = !forms.length;
  const key = JSON.stringify(forms);
  if (by("form").dataset.key === key) return;
  const held = by("form").value;
  by("form").dataset.key = key;
  by("form").replaceChildren(...forms.map((name) => el("option", {}, name)));
  if (forms.includes(held)) by("form").value = held;
}

/** What can be done with an order; forgetting it is asked once more. */
function buttons(order) {
  if (asked === order)
    return el(
      "p",
      { class: "buttons" },
      "All that was made for it is taken away; the form, and what you sent, are yours to delete.",
      el("button", { type: "button", onclick: () => forget(order) }, `Forget order ${order}`),
      el("button", { type: "button", onclick: () => askFor("") }, "Keep it"),
    );
  const named = (text) => ({ type: "button", "aria-label": `${text}: order ${order}` });
  return el(
    "p",
    { class: "buttons" },
    el("button", { ...named("Show the folder"), onclick: () => show(order) }, "Show the folder"),
    el("button", { ...named("Forget it"), onclick: () => askFor(order) }, "Forget it"),
  );
}

function askFor(order) {
  asked = order;
  drawLists();
  const first = document.querySelector(`[data-order="${order}"] button`);
  first?.focus();
}

async function forget(order) {
  wrong(null);
  try {
    about = await send("/api/orders/forget", { order });
    asked = "";
    drawLists();
    by("orders-work").textContent = `Order ${order} is forgotten.`;
  } catch (problem) {
    wrong(problem);
  }
}

async function show(order) {
  wrong(null);
  try {
    const { folder } = await send("/api/orders/show", { order });
    by("orders-work").textContent = `It is ${folder}`;
  } catch (problem) {
    wrong(problem);
  }
}

function found(order, one, number) {
  const line = el("li", {}, el("span", {}, one.page ? `${one.page}: ` : "", one.words));
  if (one.remedy) line.append(el("span", { class: "amount" }, one.remedy));
  if (one.page) {
    const image = el("img", {
      alt: `Order ${order}, ${one.page}`,
      src: `${ROOT}/picture/order/${order}/${number}`,
    });
    const frame = el("div", { class: "sheet" }, image);
    awaited(frame, image);
    line.append(frame);
  }
  return line;
}

function waiting({ order, before, found: faults, sets }) {
  const links = sets.map((name) =>
    el(
      "a",
      { href: `${ROOT}/order/${order}/${name}`, target: "_blank", rel: "noopener" },
      `Look at the sheets of ${name}`,
    ),
  );
  return el(
    "li",
    { "data-order": order },
    el(
      "h4",
      {},
      `Order ${order}`,
      before ? el("span", { class: "quiet" }, " · what is finished is from before") : null,
    ),
    faults.length
      ? el("ul", { class: "faults" }, ...faults.map((one, number) => found(order, one, number)))
      : el("p", { class: "quiet" }, "It is not checked yet: make the orders once more."),
    el("p", { class: "buttons" }, ...links),
    buttons(order),
  );
}

function drawLists() {
  const wanted = by("find").value.trim().toLowerCase();
  const made = about.made.filter((order) => order.toLowerCase().includes(wanted));
  const key = JSON.stringify([about.waiting, made, asked]);
  if (by("orders").dataset.key === key) return;
  by("orders").dataset.key = key;
  by("find-row").hidden = about.made.length < 12;
  const none = () => el("li", { class: "quiet" }, "None.");
  by("waiting").replaceChildren(...(about.waiting.length ? about.waiting.map(waiting) : [none()]));
  const shown = made
    .slice(0, MOST)
    .map((order) =>
      el("li", { "data-order": order }, el("span", {}, `Order ${order}`), buttons(order)),
    );
  const more = made.length - shown.length;
  if (more > 0)
    shown.push(
      el("li", { class: "quiet" }, `${count(more, "order", "orders")} more: find them by number.`),
    );
  by("orders").replaceChildren(...(shown.length ? shown : [none()]));
}

let timer = 0;
async function refresh() {
  clearTimeout(timer);
  let making = false;
  try {
    about = await ask("/api/orders");
    drawForms(about.forms);
    making = drawWork(about);
    drawLists();
  } catch (problem) {
    wrong(problem);
  }
  timer = setTimeout(refresh, making ? 500 : 4000);
}

by("make-orders").addEventListener("click", async () => {
  wrong(null);
  by("make-orders").disabled = true;
  try {
    await send("/api/orders", { form: by("form").value });
  } catch (problem) {
    wrong(problem);
  }
  refresh();
});
by("write-form").addEventListener("click", async () => {
  wrong(null);
  try {
    const { file } = await send("/api/orders/form", {});
    by("orders-work").textContent =
      `${file} is written into the workspace’s folder, with an example to be written over.`;
  } catch (problem) {
    wrong(problem);
  }
  refresh();
});
by("stop-orders").addEventListener("click", async () => {
  await send("/api/orders/stop", {});
  refresh();
});
by("find").addEventListener("input", drawLists);
refresh();
