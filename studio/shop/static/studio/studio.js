// Small comforts on every page. Nothing here is needed for the work to be done.

// A form that has been sent is not sent twice by a double click.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method === "get") return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  form.dataset.sent = "yes";
  setTimeout(() => { delete form.dataset.sent; }, 4000);
});

// "/" goes to the find box, unless something is being typed.
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, textarea, select");
  const box = document.querySelector("[data-find]");
  if (event.key === "/" && !typing && box) { event.preventDefault(); box.focus(); }
});

// A long form that has been typed into is not left by accident; sending it is no accident.
const holder = "form[data-unsaved]";
let unsaved = false;
const look = () => { unsaved ||= Boolean(document.querySelector(`${holder}[data-unsaved=typed]`)); };
look();
// Only an answer that brings the form back: a price that arrives meanwhile does not undo the sending.
document.addEventListener("htmx:afterSwap", (event) => { if (event.detail.target.matches(holder)) look(); });
document.addEventListener("input", (event) => { unsaved ||= Boolean(event.target.closest(holder)); });
document.addEventListener("submit", (event) => { if (event.target.matches(holder)) unsaved = false; }, true);
window.addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });
