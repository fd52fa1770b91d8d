// A large file on its way: how much of it has gone. One that is too large is named before it is sent.
// Without this the browser shows what it shows, and the studio's computer refuses the file at its end.
const MEGABYTE = 1024 * 1024;
const size = new Intl.NumberFormat(document.documentElement.lang, { style: "unit", unit: "megabyte", maximumFractionDigits: 1 });
const form = () => document.querySelector("[data-most]");
const chosen = () => form().elements.file.files[0]?.size ?? 0;

const say = (words, part) => {
  const told = form().querySelector("[data-told]");
  told.textContent = words;
  told.hidden = !words;
  told.classList.toggle("wrong", part === undefined);
  const bar = form().querySelector("progress");
  bar.hidden = part === undefined;
  if (part >= 1) bar.removeAttribute("value");
  else bar.value = part ?? 0;
};

const tooLarge = () => {
  const most = Number(form().dataset.most);
  return chosen() > most ? `The file has ${size.format(chosen() / MEGABYTE)}, and at most ${size.format(most / MEGABYTE)} are read. Send it in parts.` : "";
};

document.addEventListener("change", ({ target }) => { if (target.type === "file") say(tooLarge()); });
document.addEventListener("htmx:beforeRequest", (event) => { if (event.target === form() && tooLarge()) event.preventDefault(); });
document.addEventListener("htmx:xhr:progress", ({ target, detail: { loaded, total } }) => {
  if (target !== form() || total < MEGABYTE || total < chosen()) return; // A small file, or the answer.
  say(loaded < total ? `${size.format(loaded / MEGABYTE)} of ${size.format(total / MEGABYTE)} sent` : "Sent. It is being read.", loaded / total);
});
for (const name of ["htmx:sendError", "htmx:responseError"]) {
  document.addEventListener(name, () => say("It did not arrive, and nothing was saved. The file is still chosen: press again."));
}
// The login page of a login that ended is no part of this one.
document.addEventListener("htmx:beforeSwap", (event) => {
  const { responseURL } = event.detail.xhr;
  if (!responseURL || new URL(responseURL).pathname === window.location.pathname) return;
  event.detail.shouldSwap = false;
  window.location.assign(responseURL);
});
