// The photograph is as wide as the page. Where nothing is written yet, a tap sets the mark at once
// and asks what is there; it can be drawn to its place. Without this a tap sends the place.
const SVG = "http://www.w3.org/2000/svg";
for (const holder of document.querySelectorAll("[data-marked]")) {
  const picture = holder.querySelector("input[type=image]");
  const spots = holder.querySelector("svg");
  const { form } = picture;
  const { words, across, down } = form.elements;
  const usual = form.querySelector("[data-words]");
  let ring = spots.querySelector("[stroke-dasharray]");
  let held = null;
  holder.classList.add("wide");
  usual.hidden = false;

  const put = (event) => {
    const box = picture.getBoundingClientRect();
    const part = (at, from, length) => Math.min(Math.max((at - from) / length, 0), 1);
    const [x, y] = [part(event.clientX, box.left, box.width), part(event.clientY, box.top, box.height)];
    if (!ring) {
      ring = spots.appendChild(document.createElementNS(SVG, "circle"));
      const look = { r: 42, fill: "#fff", "fill-opacity": 0.6, stroke: "#000", "stroke-width": 7, "stroke-dasharray": "18 12" };
      for (const [name, value] of Object.entries(look)) ring.setAttribute(name, value);
    }
    ring.setAttribute("cx", x * 1000);
    ring.setAttribute("cy", y * spots.viewBox.baseVal.height);
    across.value = (x * 100).toFixed(1);
    down.value = (y * 100).toFixed(1);
  };

  picture.addEventListener("pointerdown", (event) => {
    if (ring && !words.value.trim() && event.isPrimary) held = event.pointerId;
  });
  picture.addEventListener("pointermove", (event) => { if (event.pointerId === held) put(event); });
  for (const end of ["pointerup", "pointercancel"]) picture.addEventListener(end, () => { held = null; });

  picture.addEventListener("click", (event) => {
    if (words.value.trim()) {
      const { width, height } = picture.getBoundingClientRect();
      form.elements.shown_width.value = Math.round(width);
      form.elements.shown_height.value = Math.round(height);
      return;
    }
    event.preventDefault();
    put(event);
    words.focus();
  });
  usual.addEventListener("click", (event) => {
    const chip = event.target.closest("button");
    if (!chip) return;
    words.value = chip.value;
    for (const other of usual.children) other.setAttribute("aria-pressed", other === chip);
    if (across.value && down.value) form.requestSubmit();
  });
}
