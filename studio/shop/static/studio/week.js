// The week: a block follows the mouse to another day, a tap takes it up, and keys put it down. Without this a day's
// name unrolls it, and each of its blocks is a link to the same page with a choice of days.

const root = document.documentElement;
let drag = null;

const dayUnder = (event) => document.elementFromPoint(event.clientX, event.clientY)?.closest("[data-day]");
const choiceOf = (day) => document.querySelector(`[data-day="${day}"] input[name=day]`);
const aimAt = (day) => {
  for (const other of document.querySelectorAll(".week-day.aim")) other.classList.remove("aim");
  day?.classList.add("aim");
};

const choose = (day) => {
  const choice = day && choiceOf(day);
  if (!choice || choice.checked) return;
  choice.checked = true;
  choice.dispatchEvent(new Event("change", { bubbles: true }));
};

const lift = () => {
  drag.ghost = Object.assign(document.createElement("div"), { className: "ghost" });
  drag.ghost.textContent = [...drag.block.querySelectorAll("b, .what")].map((words) => words.textContent).join(", ");
  root.append(drag.ghost);
  drag.lifted = new Promise((done) => { document.addEventListener("htmx:afterSettle", done, { once: true }); });
  (drag.block.querySelector("a.lift") ?? drag.block).click();
};

document.addEventListener("pointerdown", (event) => {
  const block = event.target.closest(".block[hx-get*='?lines'], .block[hx-get*='?own'], .block:has(> a.lift)");
  if (!block || event.pointerType !== "mouse" || event.button) return;
  drag = { block, x: event.clientX, y: event.clientY };
});

document.addEventListener("pointermove", (event) => {
  if (!drag) return;
  if (!drag.ghost) {
    if (Math.hypot(event.clientX - drag.x, event.clientY - drag.y) < 6) return;
    lift();
  }
  event.preventDefault();
  drag.ghost.style.translate = `${event.clientX + 10}px ${event.clientY + 10}px`;
  aimAt(dayUnder(event));
});

document.addEventListener("pointerup", async (event) => {
  if (!drag) return;
  const { ghost, lifted } = drag;
  drag = null;
  if (!ghost) return;
  ghost.remove();
  const day = dayUnder(event)?.dataset.day;
  await lifted;
  aimAt(null);
  choose(day);
});

// What the mouse let go of after a drag is no press of a link.
document.addEventListener("dragstart", (event) => { if (event.target.closest?.(".block")) event.preventDefault(); });

document.addEventListener("keydown", (event) => {
  if (event.key === " " && event.target.matches("a.lift, a.unroll")) {
    event.preventDefault();
    event.target.click();
  }
  if (event.key === "Escape") document.getElementById("put-back")?.click();
  if (event.key === "Enter" && event.target.matches("#look input[name=day]")) {
    event.preventDefault();
    document.getElementById("put")?.requestSubmit();
  }
});

// What a day says is said to whoever does not see it; the place for it outlives the swap.
document.addEventListener("htmx:afterSettle", () => {
  const says = document.querySelector(".in-hand .fact");
  document.getElementById("week-says").textContent = says ? says.textContent.replace(/\s+/g, " ") : "";
});
