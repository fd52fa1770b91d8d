// A measurement sheet: Enter goes on to the next field, and the difference to the last sheet is
// shown while a value is typed. Without this Enter sends the sheet, which asks before it is kept.
const sheet = document.querySelector("[data-sheet]");
const inMm = { cm: 10, mm: 1, in: 25.4, yd: 914.4 };
const units = { '"': "in", "in.": "in", inch: "in", inches: "in" };
const minus = "\u2212";

// The same spellings as on the server; what cannot be read shows no difference.
const read = (text) => {
  const plain = text.replace(/[¼½¾⅛⅜⅝⅞]/g, " $&").replace(/[″”]/g, '"').normalize("NFKC")
    .replace("\u2044", "/").trim().toLowerCase();
  const found = plain.match(/^(?:(\d+)[ -]+)?(\d+)\/(\d+)\s*(\D*)$|^(\d*[.,]?\d+)\s*(\D*)$/);
  if (!found) return null;
  const [, whole, top, bottom, after, number, unit] = found;
  const amount = number ? Number(number.replace(",", ".")) : Number(whole || 0) + top / bottom;
  const told = (number ? unit : after).trim();
  return amount * inMm[units[told] || told || sheet.dataset.unit] || null;
};

const show = (mm) => {
  const sign = mm < 0 ? minus : "+";
  if (sheet.dataset.unit === "cm") {
    const tenths = Math.round(Math.abs(mm));
    return tenths ? `${sign}${tenths / 10}` : "0";
  }
  const parts = Math.round(Math.abs(mm) / 25.4 * 16);
  if (!parts) return "0";
  let [top, bottom] = [parts % 16, 16];
  while (top && top % 2 === 0) [top, bottom] = [top / 2, bottom / 2];
  const whole = Math.floor(parts / 16);
  return sign + [whole || "", top ? `${top}/${bottom}` : ""].filter(Boolean).join(" ");
};

// Measures from the waist compare only where it was taken at the same level as last time.
const compares = (field) => field.dataset.at.split(" ").filter(Boolean).every(
  (name) => sheet.elements[name].value === field.dataset[name],
);

const differ = (field) => {
  const mm = read(field.value);
  const output = field.closest(".measure").querySelector("output");
  output.value = mm && compares(field) ? show(mm - Number(field.dataset.last)) : "";
};

const all = () => sheet.querySelectorAll("[data-last]").forEach(differ);
sheet.addEventListener("input", (event) => { if (event.target.dataset.last) differ(event.target); });
sheet.addEventListener("change", (event) => { if (event.target.type === "radio") all(); });
all();

// One stop for each field, one for each group of radio buttons; what is folded away is passed by.
const stops = () => [...sheet.elements].filter((one) => {
  if (!one.matches("input:not([type=hidden]), textarea, button") || !one.checkVisibility()) return false;
  if (one.type !== "radio") return true;
  const group = [...sheet.elements[one.name]];
  return one === (group.find((other) => other.checked) || group[0]);
});

// The tick of consent stands in the foot, beside Save.
document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (field.form !== sheet || event.key !== "Enter" || event.isComposing || !field.matches("input")) return;
  event.preventDefault();
  const group = field.type === "radio" ? [...sheet.elements[field.name]] : [field];
  const row = stops();
  const next = row[row.findIndex((one) => group.includes(one)) + 1];
  next?.focus();
  if (next?.matches(".measure input")) next.select();
});
