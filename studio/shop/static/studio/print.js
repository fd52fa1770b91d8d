// A button that prints the page; without JavaScript the browser's own menu does it.
const offer = () => { for (const button of document.querySelectorAll("[data-print]")) button.hidden = false; };
// Of a page with several lists the button names the part that it prints.
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-print]");
  if (!button) return;
  document.body.dataset.printed = button.dataset.print;
  window.print();
  delete document.body.dataset.printed;
});
document.addEventListener("htmx:load", offer);
offer();
// What lies in a drawer and belongs on the paper is laid open for it.
let opened = [];
window.addEventListener("beforeprint", () => {
  opened = [...document.querySelectorAll("[data-print-open]:not([open])")];
  for (const drawer of opened) drawer.open = true;
});
window.addEventListener("afterprint", () => { for (const drawer of opened) drawer.open = false; });
