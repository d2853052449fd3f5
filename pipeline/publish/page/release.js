// Copies a text of the release page: the one that a button names.
for (const button of document.querySelectorAll("button[data-copies]")) {
  const says = button.textContent;
  button.addEventListener("click", async () => {
    const text = document.getElementById(button.dataset.copies);
    try {
      await navigator.clipboard.writeText(text.textContent);
      button.textContent = "Copied";
    } catch {
      text.hidden = false;
      getSelection().selectAllChildren(text);
      button.textContent = "Selected: now press Ctrl-C";
    }
    setTimeout(() => {
      button.textContent = says;
    }, 3000);
  });
}

// Keeps in this browser what is ticked off as done, by listing and act, and counts it.
const kept = `uploaded ${location.pathname}`;
let names = [];
try {
  names = JSON.parse(localStorage.getItem(kept)) ?? [];
} catch {
  // Nothing is kept where the browser keeps nothing for files.
}
const done = new Set(names);

function count(article) {
  const ticks = [...article.querySelectorAll("[data-keeps]")];
  const ticked = ticks.filter((tick) => tick.checked).length;
  article.querySelector(".done").textContent = `${ticked} of ${ticks.length} done`;
  const entry = document.querySelector(`nav a[href="#${CSS.escape(article.id)}"]`);
  if (!entry) return;
  const whole = ticked === ticks.length;
  entry.parentElement.classList.toggle("whole", whole);
  entry.parentElement.querySelector(".ticks").textContent = whole
    ? ""
    : `${ticked}/${ticks.length}`;
  const listings = document.querySelectorAll("article").length;
  const finished = document.querySelectorAll("nav dd.whole").length;
  document.querySelector(".all-done").textContent = `${finished} of ${listings} listings done`;
}

for (const tick of document.querySelectorAll("[data-keeps]")) {
  tick.checked = done.has(tick.dataset.keeps);
  tick.addEventListener("change", () => {
    done[tick.checked ? "add" : "delete"](tick.dataset.keeps);
    try {
      localStorage.setItem(kept, JSON.stringify([...done]));
    } catch {
      // It stays ticked until the page is shut.
    }
    count(tick.closest("article"));
  });
}
for (const article of document.querySelectorAll("article")) count(article);
