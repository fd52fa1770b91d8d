// A button that prints the page; without JavaScript the browser's own menu does it.
const offer = () => { for (const button of document.querySelectorAll("[data-print]")) button.hidden = false; };
document.addEventListener("click", (event) => { if (event.target.closest("[data-print]")) window.print(); });
document.addEventListener("htmx:load", offer);
offer();
