// Usual reasons under the field before them: a tap writes one, which may then be changed.
for (const usual of document.querySelectorAll("[data-reasons]")) {
  const field = usual.parentElement.querySelector("input");
  usual.hidden = false;
  usual.addEventListener("click", (event) => {
    const chip = event.target.closest("button");
    if (chip) field.value = chip.value;
  });
}
