// The running clock goes on by itself; without JavaScript it shows the minutes as of the page.
for (const shown of document.querySelectorAll("[data-running]")) {
  const minutes = Number(shown.dataset.running);
  const opened = Date.now();
  setInterval(() => {
    const now = minutes + Math.floor((Date.now() - opened) / 60000);
    const hours = Math.floor(now / 60);
    const rest = String(now % 60).padStart(2, "0");
    shown.textContent = hours ? (now % 60 ? `${hours} h ${rest}` : `${hours} h`) : `${now} min`;
  }, 10000);
}
