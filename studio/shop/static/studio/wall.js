// The wall and the board of a year: pictures are put in order, into piles and seasons with mouse,
// finger or keys, and cloth or a pattern from the tray is given to them. The server is told each
// time, and no page is loaded.

{
const wall = document.querySelector("[data-wall]");
const told = document.querySelector("[data-told]");
const token = () => document.querySelector("[name=csrfmiddlewaretoken]").value;
const areas = () => [...document.querySelectorAll("[data-area]")];
const listOf = (tile) => tile.closest("[data-area]");
const tilesIn = (list) => [...list.querySelectorAll(":scope > .tile[data-make]")];
const movable = "[data-area] > .tile:not(.fixed)";
const takes = (list, tile) => tile.dataset.make.startsWith(list.dataset.takes ?? "");
const unordered = (list) => "unordered" in list.dataset;
// Where there is no picture the words are the face, and the day stands below.
const nameOf = (tile) => tile.dataset.name || (tile.querySelector(".face > b") || tile.querySelector(".cap")).textContent.trim();
const tell = (words) => { told.textContent = words; };
const ending = (n) => ({ one: "st", two: "nd", few: "rd" })[new Intl.PluralRules("en", { type: "ordinal" }).select(n)] || "th";

// What is done fast is sent one after the other: an order means what the order before it left.
let sent = Promise.resolve();
const send = (address, facts, more) => {
  const ask = () => fetch(address, { method: "POST", body: new URLSearchParams(facts), headers: { "X-CSRFToken": token(), Accept: "application/json" }, ...more });
  const answer = sent.then(ask);
  sent = answer.catch(() => {});
  return answer;
};
const post = async (address, facts) => {
  const answer = await send(address, facts);
  const reply = await answer.json().catch(() => ({ said: "" }));
  if (!answer.ok) throw new Error(reply.said || "This could not be saved. Try again.");
  return reply;
};
const takeBack = async (entry) => {
  await send(wall.dataset.undo, { entry, back: location.pathname + location.search }, { redirect: "manual" });
  location.reload();
};

// Said at the foot with an Undo, as on every page.
const say = (words, undo) => {
  const notice = document.createElement("div");
  notice.className = "notice-said";
  const text = document.createElement("span");
  text.textContent = words;
  notice.append(text);
  if (undo) {
    const made = document.createElement("button");
    Object.assign(made, { type: "button", className: "btn", textContent: "Undo" });
    made.addEventListener("click", () => { made.closest(".notice-said, .undo-said").remove(); undo(); });
    notice.append(made);
  }
  document.getElementById("said").replaceChildren(notice);
  document.dispatchEvent(new Event("said"));
};

const count = () => {
  for (const list of areas()) {
    const shown = document.querySelector(`[data-count="${list.dataset.area}"]`);
    if (!shown) continue;
    list.dataset.base ??= Number(shown.textContent) - (list.dataset.was ?? 0);
    shown.textContent = Number(list.dataset.base) + tilesIn(list).length;
  }
};
for (const list of areas()) list.dataset.was = tilesIn(list).length;

const where = (tile) => {
  const list = listOf(tile);
  const row = tilesIn(list);
  const place = row.indexOf(tile) + 1;
  if (unordered(list)) return `now in ${list.dataset.name}`;
  return `now ${place}${ending(place)} of ${row.length + Number(list.dataset.base || 0)} in ${list.dataset.name}`;
};

// Where a tile stood, so that it can be put back.
const spotOf = (tile) => ({ list: listOf(tile), next: tile.nextElementSibling });
const putAt = (tile, spot) => { spot.list.insertBefore(tile, spot.next?.parentElement === spot.list ? spot.next : null); count(); };
const putLast = (tile, list) => list.insertBefore(tile, list.querySelector(":scope > .gone"));
const beforeOf = (tile, list) => unordered(list) ? "" : tile.nextElementSibling?.dataset.make || list.dataset.next || "";
// What is sent of a picture that lies in ``list`` now and was taken from ``source``.
const factsOf = (tile, list, source, also) => "board" in wall.dataset
  ? { things: tile.dataset.make, to: list.dataset.to, before: beforeOf(tile, list) }
  : { make: tile.dataset.make, to: list.dataset.area, before: beforeOf(tile, list), source: source.dataset.area, ...(also ? { also: "on" } : {}) };

// A season that has begun remembers its plan: what leaves it stays to be seen there.
const remember = (tile, from, list) => {
  const note = (words) => {
    tile.querySelector(".note")?.remove();
    if (words) tile.querySelector("a").append(Object.assign(document.createElement("small"), { className: "note", textContent: words }));
  };
  const key = tile.dataset.make;
  if ("planned" in tile.dataset) {
    note("moved on");
    const left = tile.cloneNode(true);
    left.classList.add("fixed", "gone");
    left.dataset.was = key;
    delete left.dataset.make;
    from.append(left);
    delete tile.dataset.planned;
  }
  const back = list.querySelector(`:scope > [data-was="${key}"]`);
  back?.remove();
  if (back) tile.dataset.planned = "";
  note(!back && "begun" in list.dataset ? "added later" : "");
};
const redraw = (parts) => {
  for (const [name, html] of Object.entries(parts ?? {})) document.querySelector(`[data-part="${name}"]`).innerHTML = html;
};

const settle = async (tile, from, also) => {
  const list = listOf(tile);
  if (list === from.list && (unordered(list) || tile.nextElementSibling === from.next)) return;
  // Two of one make do not lie in one pile.
  for (const twin of tilesIn(list)) if (twin !== tile && twin.dataset.make === tile.dataset.make) twin.remove();
  let stays = null;
  if (also && list !== from.list && list.dataset.area !== "idea") {
    stays = tile.cloneNode(true);
    putAt(stays, from);
  }
  count();
  try {
    const answer = await post(wall.dataset.arrange, factsOf(tile, list, from.list, also));
    if ("board" in wall.dataset && list !== from.list) remember(tile, from.list, list);
    redraw(answer.parts);
    const gone = list.dataset.area === "idea" && list !== from.list
      ? [...document.querySelectorAll(`.tile[data-make="${tile.dataset.make}"]`)].filter((twin) => twin !== tile) : [];
    for (const twin of gone) twin.remove();
    count();
    const words = `${nameOf(tile)}: ${where(tile)}`;
    tell(words);
    say(words, async () => {
      if (answer.entry) {
        await takeBack(answer.entry);
        return;
      }
      const back = spotOf(tile);
      putAt(tile, from);
      try {
        await post(wall.dataset.arrange, factsOf(tile, from.list, list));
        tell(`${nameOf(tile)}: ${where(tile)}`);
      } catch (wrong) { putAt(tile, back); say(wrong.message); }
    });
  } catch (wrong) {
    stays?.remove();
    putAt(tile, from);
    say(wrong.message);
  }
};

// Mouse and finger.
let from = null;
let control = false;
document.addEventListener("keydown", (event) => { control = event.ctrlKey || event.metaKey; });
document.addEventListener("keyup", (event) => { control = event.ctrlKey || event.metaKey; });
const tidying = document.getElementById("tidy");
const hand = document.querySelector("[data-hand]");
if (wall) for (const hint of document.querySelectorAll("[data-needs-script]")) hint.hidden = false;
// The library itself moves the picture, for mouse and finger alike: a drag of the browser's own ends where a page is scrolled.
const CARRY = { forceFallback: true, fallbackTolerance: 4, delay: 400, delayOnTouchOnly: true, touchStartThreshold: 6, scrollSensitivity: 80, scrollSpeed: 14 };
// Nothing shrinks or moves away under what is carried: every list keeps its place until it is put down.
const held = [];
const hold = (element, facts) => {
  for (const [name, value] of Object.entries(facts)) { held.push([element, name, element.style[name]]); element.style[name] = value; }
};
const holdStill = () => {
  const sizes = areas().map((list) => [list, getComputedStyle(list), list.getBoundingClientRect(), list.closest(".pile")]);
  const piles = sizes.flatMap(([, , , pile]) => pile ? [[pile, getComputedStyle(pile).gridColumn, pile.getBoundingClientRect()]] : []);
  for (const [list, style, box] of sizes) {
    if (!box.height) continue;
    hold(list, { minHeight: `${box.height}px` });
    if (style.display === "grid") hold(list, { gridTemplateColumns: style.gridTemplateColumns });
  }
  for (const [pile, column, box] of piles) hold(pile, { flex: `0 0 ${box.width}px`, gridColumn: column });
};
const letGo = () => { for (const [element, name, value] of held.splice(0).reverse()) element.style[name] = value; };
// A season that is named above the page stands for its row.
const rowOf = (tile) => {
  const named = tile.parentElement.dataset.drop;
  if (named === undefined) return;
  const list = areas().find((area) => area.dataset.to === named && takes(area, tile));
  if (list === from.list) putAt(tile, from); else if (list) putLast(tile, list);
};
if (wall && !tidying && window.Sortable) {
  for (const list of [...areas(), ...document.querySelectorAll("[data-drop]")]) {
    window.Sortable.create(list, {
      ...CARRY, group: { name: "wall", put: (to, _from, tile) => takes(to.el, tile) }, draggable: ".tile:not(.fixed)", animation: 120,
      ghostClass: "slot", chosenClass: "chosen", sort: !("heap" in list.dataset || unordered(list)),
      onStart: ({ item, oldDraggableIndex }) => {
        const row = [...listOf(item).querySelectorAll(":scope > .tile:not(.fixed)")].filter((tile) => tile !== item);
        from = { list: listOf(item), next: row[oldDraggableIndex] || null };
        holdStill();
        document.body.classList.add("dragging");
      },
      onEnd: ({ item }) => {
        document.body.classList.remove("dragging");
        letGo();
        rowOf(item);
        settle(item, from, control);
      },
    });
  }
}

// Keys on a picture, and the same as buttons while one is lifted.
let lifted = null;
const show = () => {
  const words = where(lifted.tile);
  hand.querySelector("[data-hand-what]").textContent = nameOf(lifted.tile);
  hand.querySelector("[data-hand-where]").textContent = words;
  tell(words);
};
const carry = {
  Home: (tile, list) => list.prepend(tile),
  End: (tile, list) => putLast(tile, list),
  ArrowLeft: (tile) => tile.previousElementSibling?.before(tile),
  ArrowRight: (tile) => tile.nextElementSibling?.dataset.make && tile.nextElementSibling.after(tile),
  ArrowUp: (tile, list) => carry.ArrowLeft(tile, list),
  ArrowDown: (tile, list) => carry.ArrowRight(tile, list),
  PageUp: (tile, list) => toArea(tile, list, -1),
  PageDown: (tile, list) => toArea(tile, list, 1),
};
const toArea = (tile, list, way) => {
  const all = areas().filter((area) => takes(area, tile));
  all[(all.indexOf(list) + way + all.length) % all.length].prepend(tile);
};
const lift = (tile) => {
  lifted = { tile, from: spotOf(tile) };
  tile.classList.add("lifted");
  hand.hidden = false;
  hand.querySelector("[data-hand-keys]").hidden = false;
  show();
};
const drop = (back) => {
  const { tile, from: spot } = lifted;
  lifted = null;
  tile.classList.remove("lifted");
  hand.hidden = true;
  if (back) { putAt(tile, spot); tell(`Put back: ${nameOf(tile)}`); } else settle(tile, spot, false);
  tile.querySelector("a").focus();
};
const press = (key) => {
  if (key === " " || key === "Enter") { drop(false); return true; }
  if (key === "Escape") { drop(true); return true; }
  const act = carry[key];
  if (!act) return false;
  act(lifted.tile, listOf(lifted.tile));
  count();
  lifted.tile.querySelector("a").focus();
  lifted.tile.scrollIntoView({ block: "nearest" });
  show();
  return true;
};
document.addEventListener("keydown", (event) => {
  if (!wall || tidying || event.ctrlKey || event.metaKey || event.altKey) return;
  const tile = event.target.closest?.(movable);
  if (!lifted && tile && event.key === " ") { event.preventDefault(); lift(tile); return; }
  if (lifted && (tile === lifted.tile || event.key === "Escape") && press(event.key)) event.preventDefault();
});
for (const button of document.querySelectorAll("[data-do]")) {
  button.addEventListener("click", () => { if (lifted) press(button.dataset.do); });
}

// The tray: dragged onto a picture, or taken in hand and given to one after the other.
let inHand = null;
const give = async (tile, thing) => {
  try {
    const answer = await post(wall.dataset.giveAt, { make: tile.dataset.make, [thing.kind]: thing.pk });
    const words = answer.said || `${thing.name} is meant for ${nameOf(tile)} already.`;
    tell(words);
    if (answer.entry && thing.kind === "cloth") {
      for (const twin of document.querySelectorAll(`.tile[data-make="${tile.dataset.make}"] .face`)) {
        if (!twin.querySelector(".snip")) twin.append(thing.snip.cloneNode(true));
      }
    }
    say(words, answer.entry && (() => takeBack(answer.entry)));
  } catch (wrong) { say(wrong.message); }
};
const thingOf = (link) => ({ kind: link.dataset.give, pk: link.dataset.pk, name: link.querySelector("span:nth-child(2)").textContent, snip: link.querySelector(".snip"), link });
const takeInHand = (thing) => {
  inHand?.link.removeAttribute("aria-pressed");
  inHand = thing;
  thing?.link.setAttribute("aria-pressed", "true");
  hand.hidden = !thing;
  document.body.classList.toggle("giving", Boolean(thing));
  if (!thing) { tell("Put down"); return; }
  hand.querySelector("[data-hand-what]").textContent = `${thing.name} in your hand`;
  hand.querySelector("[data-hand-where]").textContent = "Tap the pictures it is meant for.";
  hand.querySelector("[data-hand-keys]").hidden = true;
  hand.querySelector("[data-put-down]").hidden = false;
  tell(`${thing.name} in your hand. Choose the pictures it is meant for.`);
};
if (wall && hand) {
  const down = document.createElement("button");
  Object.assign(down, { type: "button", className: "btn own", textContent: "Put down", hidden: true });
  down.dataset.putDown = "";
  down.addEventListener("click", () => { down.hidden = true; const link = inHand?.link; takeInHand(null); link?.focus(); });
  hand.append(down);
  for (const link of document.querySelectorAll("[data-give]")) {
    link.setAttribute("role", "button");
    link.addEventListener("click", (event) => { event.preventDefault(); takeInHand(inHand?.link === link ? null : thingOf(link)); });
    link.addEventListener("keydown", (event) => { if (event.key === " ") { event.preventDefault(); link.click(); } });
  }
  document.addEventListener("click", (event) => {
    const tile = inHand && event.target.closest("[data-area] > .tile");
    if (!tile) return;
    event.preventDefault();
    give(tile, inHand);
  });
  document.addEventListener("keydown", (event) => { if (inHand && event.key === "Escape") down.click(); });
  // Carried by mouse or finger over the pictures; what is below it is outlined.
  let over = null;
  const aim = (event) => {
    const spot = event?.changedTouches?.[0] ?? event?.touches?.[0] ?? event;
    const tile = spot && document.elementFromPoint(spot.clientX, spot.clientY)?.closest("[data-area] > .tile");
    if (tile === over) return;
    over?.classList.remove("aimed");
    over = tile ?? null;
    over?.classList.add("aimed");
  };
  for (const list of window.Sortable && !tidying ? document.querySelectorAll("[data-tray] .snips") : []) {
    window.Sortable.create(list, {
      ...CARRY, group: { name: "tray", pull: false, put: false }, sort: false,
      onStart: () => {
        document.body.classList.add("giving");
        for (const kind of ["mousemove", "touchmove", "pointermove"]) document.addEventListener(kind, aim);
      },
      onEnd: ({ item, originalEvent }) => {
        document.body.classList.toggle("giving", Boolean(inHand));
        for (const kind of ["mousemove", "touchmove", "pointermove"]) document.removeEventListener(kind, aim);
        aim(originalEvent);
        const tile = over;
        aim(null);
        if (tile) give(tile, thingOf(item.querySelector("[data-give]")));
      },
    });
  }
}

// The tray is closed on a phone until it is asked for.
const tray = document.querySelector("[data-tray]");
if (tray && matchMedia("(max-width: 61.99rem)").matches) tray.open = false;

// What opens to be named is named at once.
for (const drawer of document.querySelectorAll(".pile-edit, .set-aside")) {
  drawer.addEventListener("toggle", () => { if (drawer.open) drawer.querySelector("input:not([type=hidden])").focus(); });
}

// How many are ticked.
const ticked = document.querySelector("[data-ticked]");
if (ticked) {
  const tick = () => { const n = document.querySelectorAll(".pick :checked").length; ticked.textContent = n ? `${n} picked` : "Tick pictures"; };
  document.addEventListener("change", tick);
  tick();
}

// What reloads the page comes back to where it was pressed.
const place = sessionStorage.getItem("place");
sessionStorage.removeItem("place");
if (place) scrollTo({ top: Number(place), behavior: "instant" });
for (const kept of document.querySelectorAll("[data-keeps-place]")) {
  kept.addEventListener(kept.tagName === "FORM" ? "submit" : "click", () => sessionStorage.setItem("place", scrollY));
}
}
