// Small comforts on every page. Nothing here is needed for the work to be done.

// A form that has been sent is not sent twice by a double click.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method === "get") return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  form.dataset.sent = "yes";
  setTimeout(() => { delete form.dataset.sent; }, 4000);
});

// Keys of one letter, unless something is being typed: "/" finds, N takes in, S starts or pauses the
// clock, D is done. Whoever speaks to the computer can turn them off (WCAG 2.2, 2.1.4).
const kept = { get: () => { try { return localStorage.getItem("keys"); } catch { return null; } }, set: (value) => { try { localStorage.setItem("keys", value); } catch { /* not kept */ } } };
// The page's own find field comes before that of the frame, which a phone does not show.
const findField = () => [...document.querySelectorAll("main [data-find]"), ...document.querySelectorAll("[data-find]")].find((field) => field.checkVisibility());
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || kept.get() === "off") return;
  if (event.target.closest("input, textarea, select")) return;
  const key = event.key.toLowerCase();
  if (document.querySelector(`[data-keys~="${CSS.escape(key)}"]`)) return; // The page has its own.
  const field = key === "/" ? findField() : null;
  const meant = field || document.querySelector(`[data-key="${CSS.escape(key)}"]`);
  if (!meant) return;
  event.preventDefault();
  if (field) field.focus(); else meant.click();
});
for (const button of document.querySelectorAll("[data-single-keys]")) {
  const show = () => button.setAttribute("aria-pressed", String(kept.get() !== "off"));
  button.hidden = false;
  show();
  button.addEventListener("click", () => { kept.set(kept.get() === "off" ? "on" : "off"); show(); });
}

// What a form refused is read first.
document.getElementById("refused")?.focus();

// What was done is said at the foot, or at the head where it would lie over the next step or a field. It stays while
// nobody does anything, and six seconds at least; whoever goes on sends it away, and its Undo into the page's head.
{
  const READ = 6000;
  const notices = () => [...document.querySelectorAll(".said > .notice-said")];
  const covers = (notice) => {
    const { top, bottom, left, right } = notice.getBoundingClientRect();
    return [...document.querySelectorAll(":is(main, .step) .btn.main, :is(main, .rooms) :is(input:not([type=hidden]), select, textarea)")].some((each) => {
      const box = each.getBoundingClientRect();
      return each.checkVisibility() && box.width && box.top < bottom && box.bottom > top && box.left < right && box.right > left;
    });
  };
  const attend = () => {
    for (const notice of notices().filter((each) => each.shownAt === undefined)) {
      notice.shownAt = performance.now();
      const close = document.createElement("button");
      Object.assign(close, { type: "button", className: "btn", textContent: "×", ariaLabel: "Close" });
      close.addEventListener("click", () => fold([notice]));
      notice.append(close);
      const places = notice.parentElement.classList;
      places.remove("above");
      if (covers(notice)) places.add("above");
      if (places.contains("above") && covers(notice)) places.remove("above");
    }
  };
  const read = (notice) => !notice.contains(document.activeElement) && performance.now() - notice.shownAt >= READ;
  const fold = (gone = notices().filter(read)) => {
    for (const notice of gone) {
      const undo = notice.querySelector("form, button:not([aria-label])");
      const head = document.querySelector(".rooms > .home");
      document.querySelector(".undo-said")?.remove();
      if (undo && head) {
        (undo.querySelector("button") ?? undo).setAttribute("aria-label", `Undo: ${notice.querySelector("span").textContent}`);
        const mark = document.createElement("div");
        mark.className = "undo-said";
        mark.append(undo);
        head.after(mark);
      }
      notice.remove();
    }
  };
  let folding, scrolled = 0;
  const goOn = (event) => {
    const latest = Math.max(...notices().map((each) => each.shownAt ?? 0));
    if (latest < 0 || event.target.closest?.(".said")) return;
    clearTimeout(folding);
    folding = setTimeout(() => fold(), Math.max(400, READ + 50 - (performance.now() - latest)));
  };
  attend();
  for (const name of ["htmx:oobAfterSwap", "htmx:afterSwap", "said"]) document.addEventListener(name, attend);
  for (const name of ["pointerdown", "keydown"]) document.addEventListener(name, goOn);
  document.addEventListener("scroll", (event) => {
    if (Math.abs(scrollY - scrolled) < 300) return;
    scrolled = scrollY;
    goOn(event);
  });
}

// A long form that has been typed into is not left by accident; sending it is no accident.
const holder = "form[data-unsaved]";
let unsaved = false;
const look = () => { unsaved ||= Boolean(document.querySelector(`${holder}[data-unsaved=typed]`)); };
look();
// Only an answer that brings the form back: a price that arrives meanwhile does not undo the sending.
document.addEventListener("htmx:afterSwap", (event) => { if (event.detail.target.matches(holder)) look(); });
// Where only a question was asked, as which day would be free, there is nothing yet to be lost by a choice.
document.addEventListener("input", (event) => {
  const form = event.target.closest(holder);
  const asked = form?.dataset.unsaved === "asks" && !event.target.matches("[type=text], [type=file], textarea");
  unsaved ||= Boolean(form && !asked);
});
document.addEventListener("submit", (event) => { if (event.target.matches(holder)) unsaved = false; }, true);
window.addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });

// What is part of a picture with one link can still be tapped by itself.
document.addEventListener("click", (event) => {
  const goes = event.target.closest("[data-goes]");
  if (goes && !event.target.closest("a")) location.assign(goes.dataset.goes);
});

// The answer to "Is there time?" is read where it appears, above the bar at the foot.
document.addEventListener("htmx:afterSettle", ({ target }) => { if (target.id === "time-answer") target.scrollIntoView({ block: "nearest" }); });

// A suggestion that is mostly taken or replaced as a whole is selected as soon as one is in its field.
document.addEventListener("focusin", (event) => { if (event.target.matches("[data-whole]")) event.target.select(); });

// The unit beside a number goes where the number names another: 36 in.
document.addEventListener("input", ({ target }) => {
  const unit = target.closest(".with-unit")?.querySelector("i");
  if (unit) unit.hidden = /[a-z"\u2033]/i.test(target.value);
});

// A stepper counts in the page, so that each of several quick presses counts, and tells the sum as if it were typed.
// Hours go by minutes and read as the server writes them; what is written otherwise is the server's to add to.
document.addEventListener("click", (event) => {
  const press = event.target.closest(".stepper [data-by]");
  const field = press?.parentElement.querySelector("input");
  const [, whole, minutes = 0] = field?.value.trim().match(/^(\d{1,3})(?::([0-5]\d))?$/) ?? [];
  if (!whole) return;
  event.preventDefault();
  const hours = field.dataset.most === undefined;
  const was = hours ? whole * 60 + Number(minutes) : Number(whole);
  const sum = Math.min(Math.max(was + Number(press.dataset.by), 0), hours ? 1440 : Number(field.dataset.most));
  field.value = hours ? `${Math.floor(sum / 60)}${sum % 60 ? `:${String(sum % 60).padStart(2, "0")}` : ""}` : sum;
  for (const name of ["input", "change"]) field.dispatchEvent(new Event(name, { bubbles: true }));
});

// What is typed before the scripts listen (a slow phone, going back) is told to them once they do, and what is
// changed while an answer is on its way is changed in the answer as well.
const choice = (field) => ["checkbox", "radio"].includes(field.type);
const state = (field) => (choice(field) ? field.checked : field.value);
const written = (field) => {
  if (field.options) return ([...field.options].find((option) => option.defaultSelected) ?? field.options[0])?.value;
  return choice(field) ? field.defaultChecked : field.defaultValue;
};
const fields = () => [...document.querySelectorAll("main :is(input:not([type=hidden]), select, textarea)")];
const tell = (field) => {
  if (field.type === "radio" && !field.checked) return;
  for (const name of ["input", "change"]) field.dispatchEvent(new Event(name, { bubbles: true }));
};
document.addEventListener("DOMContentLoaded", () => fields().filter((field) => state(field) !== written(field)).forEach(tell));

const asked = new WeakMap();
document.addEventListener("htmx:beforeRequest", (event) => {
  asked.set(event.detail.xhr, { before: fields().map((field) => [field, state(field)]), changed: [] });
});
// Read before the swap: a radio button of the answer takes the mark from the one it replaces.
document.addEventListener("htmx:beforeSwap", (event) => {
  const request = asked.get(event.detail.xhr);
  request.focus = document.activeElement;
  request.changed = request.before.map(([field, was]) => [field, state(field), was]).filter(([, now, was]) => now !== was);
});
document.addEventListener("htmx:afterRequest", (event) => {
  const { changed, focus } = asked.get(event.detail.xhr) ?? { changed: [] };
  asked.delete(event.detail.xhr);
  for (const [field, now] of changed) {
    if (field.isConnected || (field.type === "radio" && !now)) continue;
    const same = (other) => other.id === field.id && other.type === field.type && (!choice(field) || other.value === field.value);
    const heir = [...document.getElementsByName(field.name)].find(same);
    if (!heir || state(heir) === now) continue;
    if (choice(heir)) heir.checked = now;
    else if (heir.type === "file") heir.files = field.files;
    else heir.value = now;
    if (field === focus) heir.focus();
    tell(heir);
  }
});
