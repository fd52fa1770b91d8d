// One measure at a time, with keys of its own under the thumb. What is typed stands in the fields of
// the sheet, which is saved as ever. Without this, or by choice, all stand on one page.
const panel = document.querySelector("[data-one]");
const start = document.querySelector("[data-one-start]");
const form = panel.closest("form");
const part = (name) => panel.querySelector(`[data-${name}]`);
const rows = [...form.querySelectorAll(".measures .measure:has(.tape-place)")];
const usual = rows.filter((row) => !row.closest("details"));
const fieldOf = (row) => row.querySelector("input");
const nameOf = (row) => row.querySelector("label").textContent.trim();
const consent = form.querySelector("[data-agreed]");
const consentPlace = consent.previousElementSibling;
const CHOICE = "measure-one";
let at = 0;

const sixteenths = (n) => {
  if (!n) return "";
  let [top, bottom] = [n, 16];
  while (top % 2 === 0) [top, bottom] = [top / 2, bottom / 2];
  return `${top}/${bottom}`;
};
// What stands in an inch field as whole inches and sixteenths; null for any other spelling.
const inches = (text) => {
  const found = text.trim().match(/^(\d*)(?:^| |$)(?:(\d+)\/(2|4|8|16))?$/);
  return found && [found[1], found[2] ? (found[2] * 16) / found[3] : 0];
};
const pressed = (text, key) => {
  if (form.dataset.unit === "in") {
    let [whole, n] = inches(text) ?? ["", 0];
    if (key === "back") [whole, n] = n ? [whole, 0] : [whole.slice(0, -1), 0];
    else if (key === "1/16") n = n % 2 ? n - 1 : n + 1;
    else if (key.includes("/")) n = (key.split("/")[0] * 16) / key.split("/")[1];
    else whole = (whole + key).slice(0, 3);
    return [whole, sixteenths(n)].filter(Boolean).join(" ");
  }
  if (key === "back") return text.endsWith(".5") ? text.slice(0, -2) : text.slice(0, -1);
  if (key === ".5") return text.includes(".") || !text ? text : `${text}.5`;
  return text.includes(".") || text.length > 3 ? text : text + key;
};

const draw = () => {
  const row = usual[at];
  const field = fieldOf(row);
  const figure = row.querySelector(".tape-place").cloneNode(true);
  part("figure").replaceChildren(figure);
  part("name").textContent = nameOf(row);
  part("value").textContent = field.value;
  part("before").textContent = row.querySelector(".hint > span").textContent.trim();
  part("change").textContent = row.querySelector("output").value;
  const next = usual[at + 1];
  part("next").textContent = next ? `Next: ${nameOf(next)}` : "The rest";
  const taken = rows.filter((other) => fieldOf(other).value.trim()).length;
  part("save").hidden = !taken;
  part("save").textContent = `Save ${taken}`;
  part("save").classList.toggle("main", !next && taken > 0);
  part("next").classList.toggle("main", Boolean(next) || !taken);
  part("back").disabled = at === 0;
  part("tape").replaceChildren(...usual.map((other, place) => {
    const mark = document.createElement("i");
    mark.className = place === at ? "here" : fieldOf(other).value ? "done" : "";
    return mark;
  }));
};
const write = (value) => {
  const field = fieldOf(usual[at]);
  field.value = value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  draw();
};
const leave = (field) => {
  panel.hidden = true;
  consentPlace.after(consent);
  form.classList.remove("one-by-one");
  start.hidden = false;
  field.focus();
};
const go = (step) => {
  if (at + step >= usual.length) {
    form.classList.remove("one-by-one");
    const rest = [...form.elements].find((one) => !one.closest(".measures, [data-one]") && one.matches("input:not([type=hidden])") && one.checkVisibility());
    leave(rest ?? [...form.elements].find((one) => one.name === "agreed") ?? fieldOf(usual[0]));
    return;
  }
  at = Math.max(at + step, 0);
  draw();
};
const open = () => {
  part("consent").append(consent);
  at = Math.max(usual.findIndex((row) => !fieldOf(row).value), 0);
  form.classList.add("one-by-one");
  panel.hidden = false;
  start.hidden = true;
  draw();
  panel.focus({ preventScroll: true });
  scrollTo(0, 0);
};

panel.addEventListener("click", (event) => {
  const key = event.target.closest("[data-press]")?.dataset.press;
  if (key) write(pressed(fieldOf(usual[at]).value, key));
});
panel.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const typed = fieldOf(usual[at]).value;
  if (/^\d$/.test(event.key)) write(pressed(typed, event.key));
  else if (event.key === "Backspace") write(pressed(typed, "back"));
  else if (".,".includes(event.key) && form.dataset.unit === "cm") write(pressed(typed, ".5"));
  else if (event.key === "Enter" && (event.target === panel || event.shiftKey)) go(event.shiftKey ? -1 : 1);
  else return;
  event.preventDefault();
});
part("next").addEventListener("click", () => go(1));
part("skip").addEventListener("click", () => { write(""); go(1); });
// The client is asked beside Save, so that nothing is refused from a field out of sight.
part("save").addEventListener("click", () => {
  const agreed = consent.querySelector("input");
  agreed.required = true;
  if (agreed.reportValidity()) form.requestSubmit();
});
part("back").addEventListener("click", () => go(-1));
part("all").addEventListener("click", () => {
  localStorage.setItem(CHOICE, "all");
  leave(fieldOf(usual[at]));
});
start.addEventListener("click", () => {
  localStorage.setItem(CHOICE, "one");
  open();
});
if (usual.length) {
  start.hidden = false;
  const refused = document.querySelector("#refused, [role=alert]");
  if (localStorage.getItem(CHOICE) === "one" && !refused) open();
}
