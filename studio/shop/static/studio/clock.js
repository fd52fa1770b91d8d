// The running clock goes on by itself; without JavaScript it shows the minutes as of the page. Its
// thread grows with it, until the minutes that were planned.
for (const shown of document.querySelectorAll("[data-running]:not([data-goes])")) {
  shown.dataset.goes = "yes";
  const minutes = Number(shown.dataset.running);
  const opened = Date.now();
  const thread = document.querySelector("[data-thread]");
  setInterval(() => {
    const now = minutes + Math.floor((Date.now() - opened) / 60000);
    const hours = Math.floor(now / 60);
    const rest = String(now % 60).padStart(2, "0");
    // A figure never parts from its unit.
    const words = hours ? (now % 60 ? `${hours} h ${rest}` : `${hours} h`) : `${now} min`;
    shown.textContent = words.replaceAll(" ", "\u00a0");
    if (thread) thread.setAttribute("x2", `${Math.min(100, (100 * now) / Number(thread.dataset.thread))}%`);
  }, 10000);
}
