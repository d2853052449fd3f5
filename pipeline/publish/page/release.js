// Copies a text of the release page: the one that a button names, or its own file's name.
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
