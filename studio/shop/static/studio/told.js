// What was printed is not sent yet: the next step is to say that it was.
function printed(paper, next) {
  next.value = "paper";
  next.firstElementChild.textContent = paper.dataset.thenWords;
  next.classList.replace("quiet", paper.classList.contains("main") ? "main" : "tinted");
  paper.classList.remove("main");
}
// A message that is opened in the texts or the mail is marked as sent. Without this the button does it.
document.addEventListener("click", (event) => {
  const paper = event.target.closest("[data-then]");
  if (paper) printed(paper, document.getElementById(paper.dataset.then));
  const link = event.target.closest("[data-sends]");
  const form = link && document.getElementById(link.dataset.sends);
  if (!form) return;
  if (link.dataset.way && form.elements.way) (form.elements.way.length ? form.elements.way[0] : form.elements.way).value = link.dataset.way;
  form.requestSubmit();
});
for (const button of document.querySelectorAll("[data-copies]")) {
  const text = () => document.getElementById(button.dataset.copies).value;
  const shares = Boolean(navigator.share);
  button.hidden = !shares && !navigator.clipboard;
  if (shares) button.textContent = button.dataset.shareWords;
  button.addEventListener("click", async () => {
    try {
      if (shares) await navigator.share({ text: text() });
      else await navigator.clipboard.writeText(text());
    } catch { return; }
    if (!shares) button.textContent = button.dataset.copiedWords;
  });
}
