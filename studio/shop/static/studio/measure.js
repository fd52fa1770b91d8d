// One measure at a time, with keys of its own under the thumb. What is typed stands in the fields of
// the sheet, which is saved as ever; what looks odd the server is asked at once. Without this, or by
// choice, all stand on one page.
const panel = document.querySelector("[data-one]");
const start = document.querySelector("[data-one-start]");
const form = panel.closest("form");
const part = (name) => panel.querySelector(`[data-${name}]`);
// The front first, then the back: the client turns round once.
const rows = [...form.querySelectorAll(".measures .measure:has(.tape-place)")]
  .sort((one, other) => (one.dataset.view === "back") - (other.dataset.view === "back") || one.dataset.number - other.dataset.number);
const fieldOf = (row) => row.querySelector("input");
const nameOf = (row) => row.querySelector("label").textContent.trim();
// What is asked before the sheet is saved, and where it stands otherwise.
const consent = [...document.querySelectorAll("[data-guardian], [data-agreed], .week")].map((field) => [field, field.nextElementSibling, field.parentElement]);
const child = form.elements.minor;
// Only who may read of health has it.
const pregnant = form.elements.pregnant;
const own = form.dataset.unit;
const CHOICE = "measure-one";
const SET = "measure-set";
// ms in which Next, meant for the measure before, goes nowhere: always, and once.
const TWICE = 500;
const HOLD = 3000;
const FAR = 1.25; // a number is whole when one figure more would be so many times the usual most
// The set that the page before asked for.
let wanted = [...part("set").options].find((option) => option.value === new URLSearchParams(location.search).get("set"))?.value ?? "";
let unit = own;
let usual = [];
let at = 0;
let fresh = true; // the first key begins a new number
let passed = 0; // when it went on by itself
let held = 0; // for which of these Next went nowhere
let later = -1; // where to go on after a question about a measure before
const asked = []; // questions that wait: [row, html]
let born = ""; // what is typed of a child's year of birth
let years = true; // it is asked once

const glyphs = { "1/8": "⅛", "1/4": "¼", "3/8": "⅜", "1/2": "½", "5/8": "⅝", "3/4": "¾", "7/8": "⅞" };
const pretty = (text) => text.replace(/ ?(\d+\/\d+)/, (all, part) => glyphs[part] ?? all);
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
  if (unit === "in") {
    let [whole, n] = inches(text) ?? ["", 0];
    if (key === "back") [whole, n] = n ? [whole, 0] : [whole.slice(0, -1), 0];
    else if (key === "1/16") n = n % 2 ? n - 1 : n + 1;
    else if (key.includes("/")) n = (key.split("/")[0] * 16) / key.split("/")[1];
    else whole = (whole + key).replace(/^0/, "").slice(0, 3);
    return [whole, sixteenths(n)].filter(Boolean).join(" ");
  }
  if (key === "back") return text.replace(/\.5$|.$/, "");
  // A second time it is the point alone, for a tenth: 40, 40.5, 40., 40.2.
  // From a keyboard the point is one: the digit behind it follows.
  if (key === ".") return text && text.replace(/(\.\d?)?$/, ".");
  if (key === ".5") return !text ? text : text.includes(".") ? text.replace(/\d$/, "") : `${text}.5`;
  if (text.includes(".")) return text.replace(/\.\d?$/, `.${key}`);
  return text.length > 3 ? text : (text + key).replace(/^0/, "");
};
// A number of the unit of the page; another one has its unit beside it.
const bare = (field) => field.value.trim().replace(new RegExp(` ?${unit}$`), "");
const inUnit = (text) => text && unit !== own ? `${text} ${unit}` : text;
const whole = (text, field) =>
  unit === "cm" ? /^\d\d+$/.test(text) && Number(`${text}0`) * 10 > FAR * field.dataset.high : /^\d+ \d+\/\d+$/.test(text);
const near = (field) => {
  const mm = Number(field.dataset.last);
  if (unit === "cm") {
    const half = Math.round(mm / 5);
    return [half - 1, half, half + 1].map((n) => `${n / 2}`);
  }
  const n = Math.round(mm / 25.4 * 16);
  return [n - 2, n, n + 2].map((parts) => [Math.floor(parts / 16) || "", sixteenths(parts % 16)].filter(Boolean).join(" "));
};
const button = (words, name, value) => {
  const made = document.createElement("button");
  Object.assign(made, { type: "button", className: "btn", textContent: words });
  made.dataset[name] = value;
  return made;
};

const drawFigure = (row) => {
  const figure = row.querySelector(".tape-place").cloneNode(true);
  const body = figure.querySelector("use");
  for (const other of rows) {
    if (other === row || other.dataset.view !== row.dataset.view || !fieldOf(other).value) continue;
    // A measure of the owner's own may have no place on the figure.
    const line = other.querySelector(".laid")?.cloneNode();
    if (!line) continue;
    line.setAttribute("class", "taken");
    body.after(line);
  }
  part("figure").replaceChildren(figure);
  part("view").textContent = row.dataset.view === "back" ? "from behind" : "from the front";
};
// On a phone the names lie folded behind that of the measure, and take the place of the keys.
const names = (open) => {
  panel.classList.toggle("naming", open);
  part("names").setAttribute("aria-expanded", open);
};
const tick = () => {
  const made = Object.assign(button("Pregnant", "expects", ""), { className: "" });
  made.setAttribute("aria-pressed", pregnant.checked);
  made.append(Object.assign(document.createElement("b"), { textContent: pregnant.checked ? "✓" : "" }));
  return made;
};
const drawList = () => part("list").replaceChildren(...usual.map((row, place) => {
  const made = button(nameOf(row), "at", place);
  made.className = place === at ? "here" : "";
  const value = document.createElement("b");
  value.textContent = pretty(fieldOf(row).value);
  const last = document.createElement("i");
  last.textContent = pretty(row.querySelector(".hint > span").textContent.trim().replace(/^last |,.*$/g, ""));
  made.append(value, last);
  return made;
}), ...(pregnant && !child.checked ? [tick()] : []));
const draw = () => {
  const row = usual[at];
  const field = fieldOf(row);
  panel.classList.toggle("inches", unit === "in");
  panel.classList.toggle("asking", ["ask", "agree", "birth"].some((name) => !part(name).hidden));
  names(false);
  drawFigure(row);
  part("name").textContent = nameOf(row);
  part("where").textContent = row.dataset.where;
  part("how").href = row.dataset.how;
  part("value").textContent = pretty(bare(field));
  part("in").textContent = unit;
  part("before").hidden = !field.dataset.last;
  if (field.dataset.last) {
    part("day").textContent = row.querySelector("time").textContent.trim();
    part("change").textContent = row.querySelector("output").value;
    part("near").replaceChildren(...near(field).map((value) => button(pretty(value), "take", value)));
  }
  const before = usual[at - 1];
  const tenth = bare(passed && !field.value && before ? fieldOf(before) : field);
  part("half").previousSibling.textContent = tenth.endsWith(".5") ? "." : ".5";
  part("half").textContent = passed && !field.value && before && !/\.\d?$/.test(tenth.replace(/\.5$/, "")) ? nameOf(before) : "";
  const next = usual[at + 1];
  part("next").textContent = next ? `Next: ${nameOf(next)}` : "Done";
  const taken = rows.filter((other) => fieldOf(other).value.trim()).length;
  part("save").hidden = !taken;
  part("save").textContent = next ? `Save ${taken}` : `The client agrees: save ${taken}`;
  part("save").classList.toggle("main", !next && taken > 0);
  part("next").classList.toggle("main", Boolean(next) || !taken);
  part("next").hidden = !next && taken > 0;
  part("back").disabled = at === 0;
  part("tape").replaceChildren(...usual.map((other, place) => {
    const mark = document.createElement("i");
    mark.className = place === at ? "here" : fieldOf(other).value ? "done" : place < at ? "skipped" : "";
    return mark;
  }));
  drawList();
};
const write = (row, value) => {
  const field = fieldOf(row);
  field.value = inUnit(value);
  field.dispatchEvent(new Event("input", { bubbles: true }));
};
// A point behind which nothing came.
const endPoints = () => {
  for (const row of rows) if (bare(fieldOf(row)).endsWith(".")) write(row, bare(fieldOf(row)).slice(0, -1));
};
form.addEventListener("submit", endPoints);
const leave = (field) => {
  panel.hidden = true;
  for (const [field, after, where] of consent) {
    field.hidden = false;
    where.insertBefore(field, after);
  }
  form.classList.remove("one-by-one");
  start.hidden = chips.hidden = false;
  field.focus();
};
const show = (place) => {
  at = place;
  fresh = true;
  draw();
};

// One question at a time, in place of the keys. What was typed meanwhile stays.
const question = () => {
  if (panel.classList.contains("asking") || !asked.length) return;
  const [row, html] = asked.shift();
  if (later < 0) later = at;
  at = usual.indexOf(row);
  part("ask").innerHTML = html;
  part("ask").hidden = false;
  draw();
  part("ask").focus({ preventScroll: true });
};
const ask = async (row) => {
  const field = fieldOf(row);
  const value = field.value;
  if (!value.trim()) return;
  const body = new FormData(form);
  body.append("ask", field.name);
  try {
    const answer = await fetch(form.action || location.href, { method: "POST", body });
    if (answer.status !== 200 || panel.hidden || field.value !== value) return;
    asked.push([row, await answer.text()]);
    question();
  } catch { /* Out of reach: it is asked when the sheet is saved. */ }
};
const close = () => {
  part("ask").hidden = true;
  const place = later;
  later = -1;
  passed = 0;
  show(place);
  panel.focus({ preventScroll: true });
  question();
};
// A child's year of birth, once, in place of the keys: what is asked then goes by age.
const askYear = () => {
  if (!years || !child.checked || form.elements.born.value.trim()) return;
  years = false;
  born = "";
  part("birth").hidden = false;
  draw();
  part("birth").focus({ preventScroll: true });
};
const agree = () => {
  const minor = child.checked;
  const expects = Boolean(pregnant?.checked);
  const taken = rows.filter((row) => fieldOf(row).value.trim()).length;
  part("agree").querySelector("h3").textContent = `Save ${taken} measure${taken === 1 ? "" : "s"}`;
  part("agrees").hidden = minor && !expects;
  part("agrees").textContent = `The client agrees that these measures are kept${expects ? ", and that the pregnancy is noted" : ""}.`;
  part("send").textContent = form.elements.agreed.checked ? "Save" : "The client agrees: save";
  if (minor) part("send").textContent = "Save";
  part("consent").hidden = !minor && !expects;
  for (const [field] of consent) field.hidden = field.matches(".week") ? !expects : !minor;
  part("agree").hidden = false;
  draw();
  (minor ? form.elements.guardian : part("agree")).focus({ preventScroll: true });
};

const step = (by) => {
  const row = usual[at];
  endPoints();
  passed = 0;
  if (by > 0 && at + by < usual.length) ask(row);
  if (at + by >= usual.length) return part("save").hidden ? undefined : part("save").click();
  const place = by > 0 && later > at + 1 ? later : Math.max(at + by, 0);
  if (by > 0) later = -1;
  show(place);
};
const go = (by) => {
  // A tap meant for the measure that has gone on by itself.
  const since = performance.now() - passed;
  if (by > 0 && (since < TWICE || (since < HOLD && held !== passed))) held = passed;
  else step(by);
};
const press = (key) => {
  const row = usual[at];
  const text = bare(fieldOf(row));
  const before = usual[at - 1];
  const point = before && bare(fieldOf(before)).endsWith(".");
  if ((!text || fresh) && before && ((key === "back" && !text) || point || (passed && [".5", ".", "1/16", "0"].includes(key)))) {
    // No measure begins with 0: it was meant for the one before, which is looked at again.
    if (key === "0" && !point) { passed = 0; return show(at - 1); }
    write(before, pressed(bare(fieldOf(before)), key));
    if (key === "back") return show(at - 1);
    if (key !== ".") ask(before);
    return draw();
  }
  const value = pressed(fresh && key !== "back" && !/[./]/.test(key) ? "" : text, key);
  write(row, value);
  fresh = false;
  passed = 0;
  if (key !== "back" && whole(value, fieldOf(row)) && usual[at + 1]) {
    step(1);
    passed = performance.now();
  }
  draw();
};
// A set by its name, or of it what no sheet has yet.
const choose = (name) => {
  // A set that was remembered may have been removed since.
  if (![...part("set").options].some((option) => option.value === name)) name = "usual";
  part("set").value = name;
  const order = part("set").selectedOptions[0]?.dataset.order?.split(" ");
  const [missing, set] = name.startsWith("missing ") ? [true, name.slice(8)] : [false, name];
  const listed = order ? order.flatMap((key) => rows.filter((row) => fieldOf(row).name === key)) : rows;
  usual = listed.filter((row) =>
    (order || set === "all" || row.dataset.sets.split(" ").includes(set)) && (!missing || ("missing" in row.dataset && !fieldOf(row).defaultValue)));
  if (!usual.length) usual = rows;
};
const open = (name = "") => {
  part("consent").append(...consent.map(([field]) => field));
  // Of what is missing the job that was measured last comes first.
  const last = `missing ${localStorage.getItem(SET)}`;
  if (wanted === "missing all" && [...part("set").options].some((option) => option.value === last)) wanted = last;
  choose(name || wanted || (child.checked ? "child" : localStorage.getItem(SET) || "usual"));
  form.classList.add("one-by-one");
  panel.hidden = false;
  start.hidden = chips.hidden = true;
  show(Math.max(usual.findIndex((row) => !fieldOf(row).value), 0));
  panel.focus({ preventScroll: true });
  scrollTo(0, 0);
  askYear();
};
const send = () => {
  if (!child.checked) form.elements.agreed.checked = true;
  form.elements.guardian.required = child.checked;
  form.elements.agreed.required = true;
  if ([form.elements.agreed, form.elements.guardian].every((field) => field.reportValidity())) form.requestSubmit();
};

panel.addEventListener("click", (event) => {
  const target = event.target.closest("button");
  if (!target) return;
  if (target.matches("[data-names]")) {
    names(!panel.classList.contains("naming"));
    part("list").querySelector(".here").scrollIntoView({ block: "nearest" });
  }
  const { press: key, take, at: place, instead, fact, to, year, expects } = target.dataset;
  const row = usual[at];
  if (key) press(key);
  else if (take !== undefined) {
    write(row, take);
    if (usual[at + 1]) step(1);
    else draw();
  }
  else if (place) { later = -1; passed = 0; show(Number(place)); panel.focus({ preventScroll: true }); }
  else if (instead) { write(row, ""); fieldOf(row).value = instead; fieldOf(row).dispatchEvent(new Event("input", { bubbles: true })); close(); ask(row); }
  else if (year !== undefined) {
    form.elements.born.value = year;
    part("birth").hidden = true;
    draw();
    panel.focus({ preventScroll: true });
    question();
  } else if (expects !== undefined) { pregnant.checked = !pregnant.checked; drawList(); part("list").lastChild.focus(); }
  else if (fact) { form.querySelector(`[name="${fact}"][value="${to}"]`).click(); close(); ask(row); }
});
panel.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.matches("input, select")) return;
  const asking = panel.classList.contains("asking");
  if (!part("birth").hidden && /^\d$/.test(event.key)) {
    born += event.key;
    part("birth").querySelector(`[data-year="${born}"]`)?.click();
    return;
  }
  if (asking && event.target.matches("button")) return;
  if (asking && event.key === "Enter") ["agree", "birth", "ask"].map(part).find((one) => !one.hidden).querySelector(".main, [data-right], [data-year='']").click();
  else if (asking) return;
  else if (/^\d$/.test(event.key)) press(event.key);
  else if (event.key === "Backspace") press("back");
  else if (".,".includes(event.key) && unit === "cm") press(".");
  else if (event.key === "Enter" && (event.target === panel || event.shiftKey)) {
    // The Enter of habit after a number that has gone on by itself.
    if (passed && !event.shiftKey) passed = 0;
    else step(event.shiftKey ? -1 : 1);
  } else return;
  event.preventDefault();
});
part("ask").addEventListener("click", (event) => {
  const target = event.target.closest("button");
  if (!target) return;
  if (target.matches("[data-again]")) {
    part("ask").hidden = true;
    write(usual[at], "");
    passed = 0;
    show(at);
    panel.focus({ preventScroll: true });
  } else if (target.matches("[data-right]")) {
    form.append(...part("ask").querySelectorAll("[name=seen]"));
    if (target.dataset.right) pregnant.checked = true;
    const row = usual[at];
    close();
    ask(row);
  }
});
// Along the tape, to the measure whose mark lies under the finger.
part("tape").addEventListener("click", (event) => {
  if (panel.classList.contains("asking")) return;
  const { left, width } = part("tape").getBoundingClientRect();
  const place = Math.floor(((event.clientX - left) / width) * usual.length);
  later = -1;
  passed = 0;
  show(Math.min(Math.max(place, 0), usual.length - 1));
});
part("next").addEventListener("click", () => go(1));
part("skip").addEventListener("click", () => { write(usual[at], ""); passed = 0; step(1); });
// After the last measure its question comes first; the button says that the client agrees.
part("save").addEventListener("click", async () => {
  await ask(usual[at]);
  if (panel.classList.contains("asking")) return;
  if (child.checked || pregnant?.checked || usual[at + 1]) agree();
  else send();
});
part("on").addEventListener("click", () => { part("agree").hidden = true; draw(); panel.focus({ preventScroll: true }); question(); });
part("send").addEventListener("click", send);
part("back").addEventListener("click", () => go(-1));
part("unit").addEventListener("click", () => { unit = unit === "cm" ? "in" : "cm"; draw(); });
part("set").addEventListener("change", (event) => {
  const name = event.target.value;
  // What is missing is asked for once; the next client begins with a job.
  wanted = name.startsWith("missing") ? name : "";
  if (!wanted) localStorage.setItem(SET, name);
  if (name === "child") child.checked = true;
  choose(name);
  show(Math.max(usual.findIndex((row) => !fieldOf(row).value), 0));
  panel.focus({ preventScroll: true });
  askYear();
});
part("all").addEventListener("click", () => {
  localStorage.setItem(CHOICE, "all");
  leave(fieldOf(usual[at]));
});
const chips = document.querySelector("[data-one-sets]");
chips.addEventListener("click", (event) => {
  const name = event.target.closest("[data-set]")?.dataset.set;
  if (!name) return;
  wanted = "";
  localStorage.setItem(SET, name);
  localStorage.setItem(CHOICE, "one");
  if (name === "child") child.checked = true;
  open(name);
});
start.addEventListener("click", () => {
  localStorage.setItem(CHOICE, "one");
  open();
});
if (rows.length) {
  start.hidden = chips.hidden = false;
  const refused = document.querySelector("#refused, [role=alert]");
  if ((wanted || localStorage.getItem(CHOICE) === "one") && !refused) open();
}
