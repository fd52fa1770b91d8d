// A sheet to draw on with finger, pen or mouse. What is on it is sent with its form as a picture.

const INK = "#1f1c18";
const WIDE = 5; // of the 900 across the sheet

for (const sheet of document.querySelectorAll("[data-draw]")) {
  const part = (name) => sheet.querySelector(`[data-draw-${name}]`);
  const canvas = sheet.querySelector("canvas");
  const pen = canvas.getContext("2d");
  let strokes = [];
  let cleared = [];
  let held = null; // the finger that draws; others rest on the sheet

  const line = (spots) => {
    pen.beginPath();
    pen.moveTo(...spots[0]);
    for (const spot of spots) pen.lineTo(...spot);
    pen.stroke();
  };

  const paint = () => {
    pen.fillStyle = "#ffffff";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    Object.assign(pen, { strokeStyle: INK, lineWidth: WIDE, lineCap: "round", lineJoin: "round" });
    strokes.forEach(line);
  };

  const spot = (event) => {
    const box = canvas.getBoundingClientRect();
    return [
      ((event.clientX - box.left) * canvas.width) / box.width,
      ((event.clientY - box.top) * canvas.height) / box.height,
    ];
  };

  // A finger on the sheet never scrolls or flings the page, so the tap after a stroke counts.
  canvas.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
  canvas.addEventListener("pointerdown", (event) => {
    if (held !== null || event.button) return;
    held = event.pointerId;
    canvas.setPointerCapture(held);
    strokes.push([spot(event)]);
    line(strokes.at(-1));
  });
  canvas.addEventListener("pointermove", (event) => {
    if (event.pointerId !== held) return;
    strokes.at(-1).push(spot(event));
    line(strokes.at(-1).slice(-2));
  });
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, (event) => { if (event.pointerId === held) held = null; });
  }

  // After "Clear" there is no stroke to take back but the clearing itself.
  part("back").addEventListener("click", () => {
    if (strokes.length) strokes.pop();
    else [strokes, cleared] = [cleared, []];
    paint();
  });
  part("clear").addEventListener("click", () => {
    if (strokes.length) [strokes, cleared] = [[], strokes];
    paint();
  });
  part("open").addEventListener("click", (event) => {
    part("sheet").hidden = false;
    event.currentTarget.setAttribute("aria-expanded", "true");
    paint();
    canvas.scrollIntoView({ block: "nearest" });
  });

  sheet.closest("form").addEventListener("formdata", (event) => {
    if (!strokes.length) return;
    const letters = atob(canvas.toDataURL("image/png").split(",")[1]);
    const bytes = Uint8Array.from(letters, (letter) => letter.charCodeAt(0));
    event.formData.set("sketch", new Blob([bytes], { type: "image/png" }), "sketch.png");
  });
  sheet.hidden = false;
}
