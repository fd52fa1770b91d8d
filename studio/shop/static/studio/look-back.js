// K, L, N, C, R, D or figures answer while the focus is in the card; without JavaScript its buttons do.
for (const button of document.querySelectorAll("[data-keys]")) {
  const keys = button.dataset.keys.split(" ");
  button.form.dataset.listens = "";
  button.form.addEventListener("keydown", (pressed) => {
    const plain = !pressed.ctrlKey && !pressed.metaKey && !pressed.altKey && !pressed.repeat;
    if (plain && keys.includes(pressed.key.toLowerCase())) button.click();
  });
}
