// The garment that lies open, its colour at once, and which answers are worth asking the week about.
// Without scripts all garments lie open and the rail leads to them.

const open = (prefix) => {
  for (const card of document.querySelectorAll("#drop-off .piece")) card.classList.toggle("current", card.id === `${prefix}-card`);
  for (const link of document.querySelectorAll("#rail [data-garment]")) {
    if (link.dataset.garment === prefix) link.setAttribute("aria-current", "true"); else link.removeAttribute("aria-current");
  }
  document.querySelector("#drop-off [name=open]").value = prefix;
};

document.addEventListener("click", (event) => {
  const link = event.target.closest('#drop-off a[href^="#"]');
  const target = link && document.getElementById(link.hash.slice(1));
  const card = target?.closest(".piece");
  if (!card) return;
  open(card.id.replace("-card", ""));
  if (target === card) {
    event.preventDefault();
    card.scrollIntoView({ block: "nearest" });
  } else {
    for (let drawer = target.closest("details"); drawer; drawer = drawer.parentElement.closest("details")) drawer.open = true;
    target.focus();
  }
});

// What was asked stays asked only until it is answered; the answer from the week may come later.
document.addEventListener("input", (event) => {
  const card = event.target.matches("#drop-off .far input") && event.target.value.trim() && event.target.closest(".piece");
  if (card) document.querySelector(`#${card.id.replace("-card", "")}-on-rail .urgent`)?.remove();
});

document.addEventListener("change", (event) => {
  const form = event.target.closest("#drop-off");
  if (!form) return;
  if (!event.target.closest("[data-quiet]")) form.dispatchEvent(new CustomEvent("ask"));
  const dye = event.target.dataset.dye;
  const card = dye && event.target.closest(".piece");
  if (!card) return;
  card.querySelector(".colours [type=text]").value = "";
  const prefix = card.id.replace("-card", "");
  for (const drawing of document.querySelectorAll(`#${prefix}-pictures svg.garment, #${prefix}-on-rail svg.garment`)) {
    drawing.setAttribute("color", dye);
    drawing.classList.remove("basted");
  }
});
