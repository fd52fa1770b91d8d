// A sheet to draw on with finger, pen or mouse, empty or over a picture. What is on it is sent with
// its form as a picture; a form that is marked so is not left by accident once something is drawn.

for (const sheet of document.querySelectorAll("[data-draw]")) {
  const part = (name) => sheet.querySelector(`[data-draw-${name}]`);
  const canvas = sheet.querySelector("canvas");
  const pen = canvas.getContext("2d");
  const across = canvas.width / 900; // Pens are as wide on a larger sheet.
  let strokes = [];
  let cleared = [];
  let held = null; // the finger that draws; others rest on the sheet
  let colour = part("colour").dataset.drawColour;
  let wide = 6;
  let below = null; // the picture that is drawn on

  // Through the middles between the spots, so that a quick hand draws no corners.
  const line = (stroke, since = 0) => {
    const { spots } = stroke;
    Object.assign(pen, { strokeStyle: stroke.colour, lineCap: "round", lineJoin: "round", lineWidth: stroke.wide * across });
    const middle = (at) => [(spots[at][0] + spots[at + 1][0]) / 2, (spots[at][1] + spots[at + 1][1]) / 2];
    pen.beginPath();
    pen.moveTo(...(since > 0 ? middle(since - 1) : spots[0]));
    for (let at = Math.max(since, 1); at < spots.length - 1; at += 1) pen.quadraticCurveTo(...spots[at], ...middle(at));
    pen.lineTo(...spots.at(-1));
    pen.stroke();
  };

  const paint = () => {
    pen.fillStyle = "#ffffff";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    if (below) pen.drawImage(below, 0, 0, canvas.width, canvas.height);
    for (const stroke of strokes) line(stroke);
  };

  const spot = (event) => {
    const box = canvas.getBoundingClientRect();
    return [
      ((event.clientX - box.left) * canvas.width) / box.width,
      ((event.clientY - box.top) * canvas.height) / box.height,
    ];
  };
  const typed = () => canvas.dispatchEvent(new Event("input", { bubbles: true }));

  // A finger on the sheet never scrolls or flings the page, so the tap after a stroke counts.
  canvas.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
  canvas.addEventListener("pointerdown", (event) => {
    if (held !== null || event.button) return;
    held = event.pointerId;
    canvas.setPointerCapture(held);
    strokes.push({ colour, wide, spots: [spot(event)] });
    line(strokes.at(-1));
    typed();
  });
  canvas.addEventListener("pointermove", (event) => {
    if (event.pointerId !== held) return;
    const stroke = strokes.at(-1);
    const since = stroke.spots.length - 1;
    const moves = event.getCoalescedEvents?.() || [];
    for (const move of moves.length ? moves : [event]) stroke.spots.push(spot(move));
    line(stroke, since);
  });
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, (event) => { if (event.pointerId === held) { held = null; paint(); } });
  }

  const choose = (name, take) => {
    const buttons = [...sheet.querySelectorAll(`[data-draw-${name}]`)];
    for (const button of buttons) {
      button.addEventListener("click", () => {
        for (const other of buttons) other.setAttribute("aria-pressed", String(other === button));
        take(button.dataset);
      });
    }
  };
  choose("colour", (data) => { colour = data.drawColour; });
  choose("wide", (data) => { wide = Number(data.drawWide); });

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
  part("open")?.addEventListener("click", (event) => {
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
  const ready = () => { sheet.hidden = false; paint(); };
  if (sheet.dataset.drawOn) {
    const picture = new Image();
    picture.addEventListener("load", () => { below = picture; ready(); });
    picture.src = sheet.dataset.drawOn;
  } else ready();
}
