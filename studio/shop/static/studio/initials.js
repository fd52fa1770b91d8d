// Initials are drawn on the glass with a finger, a pen or the mouse. Without this they are signed
// on paper. The lines are black on white in the evening too.
for (const form of document.querySelectorAll("[data-initials]")) {
  const canvas = form.querySelector("canvas");
  const pen = canvas.getContext("2d");
  let drawing = null;
  let drawn = false;

  const wipe = () => {
    pen.clearRect(0, 0, canvas.width, canvas.height);
    Object.assign(pen, { lineWidth: 5, lineCap: "round", lineJoin: "round", strokeStyle: "#000" });
    drawn = false;
  };
  const place = (event) => {
    const box = canvas.getBoundingClientRect();
    const scale = canvas.width / box.width;
    return [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
  };
  const line = (event) => {
    if (event.pointerId !== drawing) return;
    pen.lineTo(...place(event));
    pen.stroke();
    drawn = true;
  };

  canvas.addEventListener("pointerdown", (event) => {
    if (drawing !== null) return;
    drawing = event.pointerId;
    canvas.setPointerCapture(drawing);
    pen.beginPath();
    pen.moveTo(...place(event));
    line(event);
  });
  canvas.addEventListener("pointermove", line);
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, (event) => { if (event.pointerId === drawing) drawing = null; });
  }
  form.querySelector("[data-wipe]").addEventListener("click", wipe);
  form.addEventListener("submit", (event) => {
    const glass = event.submitter?.value === "glass";
    form.elements.drawing.value = glass && drawn ? canvas.toDataURL("image/png") : "";
  });
  wipe();
  form.querySelector("[data-glass]").hidden = false;
}
