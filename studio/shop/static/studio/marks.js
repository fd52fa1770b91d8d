// The photograph may be as wide as the page when its size on the screen is sent with a tap.
// Without this it keeps the size that the server knows.
for (const holder of document.querySelectorAll("[data-marked]")) {
  const picture = holder.querySelector("input[type=image]");
  const form = picture.form;
  holder.classList.add("wide");
  picture.addEventListener("click", () => {
    const { width, height } = picture.getBoundingClientRect();
    form.elements.shown_width.value = Math.round(width);
    form.elements.shown_height.value = Math.round(height);
  });
}
