// An example of a rate is put into the field by a press; whoever has no script types it.
const field = document.querySelector("[name=percent]");
for (const chip of document.querySelectorAll("[data-rate]")) {
  chip.addEventListener("click", () => { field.value = chip.dataset.rate; field.focus(); });
}
