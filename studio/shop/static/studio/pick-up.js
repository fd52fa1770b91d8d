// What the foot of a pick-up says: how many leave, and by which way it is paid. The page works without.
const form = document.getElementById("pick-up");
const ticks = [...form.querySelectorAll(".leaving input")];
const leave = document.querySelector("[data-leave]");
const by = document.querySelector("[data-by]");
const all = document.querySelector("[data-all]");
const amount = form.querySelector("[name=amount]");
const sums = form.querySelector("[data-sums]");
const WAYS = { cash: "in cash", card: "by card", transfer: "by transfer" };

function tell() {
  leave.textContent = `${ticks.filter((tick) => tick.checked).length} of ${ticks.length} leave${ticks.length === 1 ? "s" : ""}`;
  if (by) by.textContent = WAYS[form.querySelector("[name=method]:checked")?.value] ?? "";
  if (all) all.hidden = ticks.every((tick) => tick.checked);
  if (form.querySelector("[name=fit][value=wrong]:checked")) document.getElementById("work").open = true;
}
form.addEventListener("change", tell);
all?.addEventListener("click", () => {
  for (const tick of ticks) tick.checked = true;
  tell();
  ticks[0].focus();
});
if (sums) {
  sums.hidden = false;
  sums.addEventListener("click", (event) => {
    if (!event.target.value) return;
    amount.value = event.target.value;
    amount.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
// Who pays later pays nothing now, unless an amount was written.
form.querySelector("[name=pays_later]")?.addEventListener("input", (event) => {
  const whole = amount.dataset.open;
  const now = event.target.value.trim() ? "0" : whole;
  if (!["0", whole].includes(amount.value) || amount.value === now) return;
  amount.value = now;
  amount.dispatchEvent(new Event("input", { bubbles: true }));
});
tell();
