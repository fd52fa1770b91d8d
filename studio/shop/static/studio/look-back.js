// K, L, N or 1, 2, 3 answer the card while the focus is in it; without JavaScript its buttons do.
for (const button of document.querySelectorAll("[data-keys]")) {
  const keys = button.dataset.keys.split(" ");
  button.form.addEventListener("keydown", (pressed) => {
    const plain = !pressed.ctrlKey && !pressed.metaKey && !pressed.altKey && !pressed.repeat;
    if (plain && keys.includes(pressed.key.toLowerCase())) button.click();
  });
}
for (const hint of document.querySelectorAll("[data-keys-hint]")) hint.hidden = false;
