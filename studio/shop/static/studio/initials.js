// Initials are drawn on the glass with a finger, a pen or the mouse. Without this they are signed
// on paper. The lines are black on white in the evening too: they go on paper.
for (const form of document.querySelectorAll("[data-initials]")) {
  const canvas = form.querySelector("canvas");
  const pen = canvas.getContext("2d");
  let drawing = null;
  let drawn = false;
  let before = [];

  const wipe = () => {
    pen.clearRect(0, 0, canvas.width, canvas.height);
    Object.assign(pen, { lineWidth: 7, lineCap: "round", lineJoin: "round", strokeStyle: "#000" });
    drawn = false;
    canvas.classList.remove("drawn");
  };
  const place = (event) => {
    const box = canvas.getBoundingClientRect();
    const scale = canvas.width / box.width;
    return [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
  };
  const between = ([x, y], [u, v]) => [(x + u) / 2, (y + v) / 2];
  // A curve through the middles of what was felt, so that no corner shows where the finger was fast.
  const line = (event) => {
    if (event.pointerId !== drawing) return;
    const felt = event.getCoalescedEvents?.() ?? [];
    for (const touch of felt.length ? felt : [event]) {
      const now = place(touch);
      const [last, middle] = before;
      const next = between(last, now);
      pen.beginPath();
      pen.moveTo(...middle);
      pen.quadraticCurveTo(...last, ...next);
      pen.stroke();
      before = [now, next];
    }
    drawn = true;
    canvas.classList.add("drawn");
  };

  canvas.addEventListener("pointerdown", (event) => {
    if (drawing !== null) return;
    drawing = event.pointerId;
    canvas.setPointerCapture(drawing);
    before = [place(event), place(event)];
    line(event);
  });
  canvas.addEventListener("pointermove", line);
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, (event) => {
      if (event.pointerId !== drawing) return;
      pen.beginPath();
      pen.moveTo(...before[1]);
      pen.lineTo(...before[0]);
      pen.stroke();
      drawing = null;
    });
  }
  form.querySelector("[data-wipe]").addEventListener("click", wipe);
  form.addEventListener("submit", (event) => {
    const glass = event.submitter?.value === "glass";
    form.elements.drawing.value = glass && drawn ? canvas.toDataURL("image/png") : "";
  });
  wipe();
  form.querySelector("[data-glass]").hidden = false;
  document.querySelector("[data-glass-send]").hidden = false;
}
