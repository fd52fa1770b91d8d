// The cash box while it is counted: what each compartment comes to, and how far off the box is.
// Without this, Close the day tells a difference first and saves it at the second press.
const box = document.querySelector("[data-count]");
const format = new Intl.NumberFormat(document.documentElement.lang, { style: "currency", currency: box.dataset.currency });
const scale = 10 ** format.resolvedOptions().maximumFractionDigits;
const show = (minor) => format.format(minor / scale);
const minor = (field) => Math.round(Number(field.value.trim().replace(",", ".") || 0) * scale) || 0;
const find = (name) => document.querySelector(`[data-${name}]`);

const count = () => {
  const typed = [...box.querySelectorAll("[data-worth], [data-rest]")].some((field) => field.value.trim());
  let counted = minor(box.querySelector("[data-rest]"));
  for (const field of box.querySelectorAll("[data-worth]")) {
    const worth = (Number(field.value) || 0) * Number(field.dataset.worth);
    field.parentElement.querySelector("[data-worth-of]").textContent = field.value.trim() ? show(worth) : "\u00a0";
    counted += worth;
  }
  find("counted").textContent = typed ? show(counted) : "–";
  let line = typed ? `${show(counted)} counted` : "Not counted yet";
  if (box.dataset.expected !== undefined) {
    const expected = Number(box.dataset.expected) - minor(box.querySelector("[data-out]"));
    const off = counted - expected;
    const words = off > 0 ? "over" : off < 0 ? "short" : "difference";
    find("should-be").textContent = show(expected);
    find("off").classList.toggle("off", typed && off !== 0);
    find("off-words").textContent = typed ? words : "difference";
    find("off-by").textContent = typed ? show(Math.abs(off)) : "–";
    if (typed && off) line = `${show(Math.abs(off))} ${words}`;
    box.elements.saw.value = typed ? off : "";
  }
  find("off-line").textContent = line;
};

box.addEventListener("input", count);
count();
