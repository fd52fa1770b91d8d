// The tab of the part that is shown is the current one; a photograph is sent as soon as it is taken.
const tabs = [...document.querySelectorAll(".tabs a[href^='#']")];
const first = tabs.find((tab) => tab.hasAttribute("aria-current"));
const part = () => {
  const target = location.hash && document.getElementById(location.hash.slice(1));
  const section = target && target.closest(".part");
  const shown = tabs.find((tab) => section && tab.hash === `#${section.id}`) || first;
  for (const tab of tabs) {
    if (tab === shown) tab.setAttribute("aria-current", "true"); else tab.removeAttribute("aria-current");
  }
  // What the address names may lie in a drawer.
  const drawer = target && target.closest("details");
  if (drawer) drawer.open = true;
};
part();
window.addEventListener("hashchange", part);
for (const field of document.querySelectorAll("[data-sends]")) {
  field.addEventListener("change", () => { if (field.value) field.form.requestSubmit(); });
}
// Come back from a paper: what was printed is known by now.
window.addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
