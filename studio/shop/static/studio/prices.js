// The price list: found while one types, opened in place, put in order by dragging.
// Without it the same is done by the page itself: sent, by its links, by Up and Down.

const finder = document.querySelector("[data-price-find]");
const table = document.querySelector(".prices");

if (finder && table) {
  const field = finder.elements.q;
  const chips = [...finder.querySelectorAll("[data-only]")];
  const count = document.getElementById("price-count");
  const all = count.textContent;
  const none = document.querySelector("[data-none]");
  let only = chips.find((chip) => chip.hasAttribute("aria-current"))?.dataset.only ?? "";

  const show = () => {
    const typed = field.value.toLowerCase().match(/[\p{L}\p{N}_]+/gu) ?? [];
    let shown = 0;
    for (const part of table.tBodies) {
      let here = 0;
      for (const row of part.rows) {
        if (row.dataset.words === undefined) continue;
        const meant = (!only || only === part.dataset.section) && typed.every((word) => row.dataset.words.includes(` ${word}`));
        row.hidden = !meant;
        here += meant;
      }
      part.hidden = !here && !part.querySelector(".open") && (typed.length > 0 || (only !== "" && only !== part.dataset.section));
      shown += here;
    }
    table.classList.toggle("found", typed.length > 0 || only !== "");
    none.hidden = shown > 0 || only !== "";
    count.textContent = typed.length || only ? `${shown} found` : all;
    const address = new URL(location.href);
    for (const [name, value] of [["q", field.value.trim()], ["only", only]]) {
      if (value) address.searchParams.set(name, value); else address.searchParams.delete(name);
    }
    if (address.pathname === new URL(finder.action).pathname) history.replaceState(history.state, "", address);
  };

  field.addEventListener("input", show);
  finder.addEventListener("submit", (event) => {
    event.preventDefault();
    table.querySelector("tbody:not([hidden]) > tr:not([hidden]) > th > a")?.click();
  });
  finder.addEventListener("click", (event) => {
    const chip = event.target.closest("[data-only]");
    if (!chip) return;
    event.preventDefault();
    only = chip.dataset.only;
    for (const each of chips) each.toggleAttribute("aria-current", each === chip);
    chip.setAttribute("aria-current", "true");
    show();
  });

  // On the phone the rows of a garment are a drawer; the one opened last is open when one comes back.
  table.classList.add("scripted");
  const folds = [...table.querySelectorAll("[data-fold]")];
  const fold = (part, shut) => {
    part.classList.toggle("shut", shut);
    part.querySelector("[data-fold]")?.setAttribute("aria-expanded", String(!shut));
  };
  const last = sessionStorage.getItem("prices");
  const start = table.querySelector(".open, :target")?.closest("tbody") ?? folds.find((link) => link.closest("tbody").dataset.section === last)?.closest("tbody") ?? table.tBodies[0];
  for (const part of table.tBodies) fold(part, part !== start);
  for (const link of folds) link.setAttribute("role", "button");
  table.addEventListener("click", (event) => {
    const link = event.target.closest("[data-fold]");
    if (!link) return;
    event.preventDefault();
    const part = link.closest("tbody");
    fold(part, !part.classList.contains("shut"));
    if (!part.classList.contains("shut")) sessionStorage.setItem("prices", part.dataset.section);
  });
  table.addEventListener("keydown", (event) => {
    if (event.key === " " && event.target.matches("[data-fold]")) { event.preventDefault(); event.target.click(); }
  });

  // A row opens where it stands; only one at a time, unless something was typed into it.
  const closed = new WeakMap();
  const close = (row) => {
    const was = closed.get(row);
    if (!was) return false;
    row.replaceWith(was.row ?? "");
    was.link.focus();
    return true;
  };
  table.addEventListener("click", async (event) => {
    if (event.ctrlKey || event.metaKey || event.shiftKey) return;
    const leave = event.target.closest("[data-leave]");
    if (leave && close(leave.closest("tr"))) { event.preventDefault(); return; }
    const link = event.target.closest("[data-open]");
    if (!link) return;
    event.preventDefault();
    const answer = await fetch(link.href, { headers: { "HX-Request": "true" } }).catch(() => null);
    if (!answer?.ok || answer.redirected) { location.assign(link.href); return; }
    const holder = document.createElement("template");
    holder.innerHTML = await answer.text();
    const row = holder.content.querySelector("tr");
    for (const other of table.querySelectorAll(".open:not([data-typed])")) close(other);
    const was = link.closest("tr");
    if (was.classList.contains("kind")) { closed.set(row, { link }); was.parentElement.append(row); }
    else { closed.set(row, { link, row: was }); was.replaceWith(row); }
    row.querySelector(was.classList.contains("kind") ? "[name=name]" : "[name=price]").select();
    row.scrollIntoView({ block: "nearest" });
  });
  table.addEventListener("input", (event) => { event.target.closest(".open")?.setAttribute("data-typed", ""); });
  table.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    const leave = event.target.closest(".open")?.querySelector("[data-leave]");
    if (leave) { event.preventDefault(); leave.click(); }
  });
  // Saved, the page comes back as it was: what was typed, which garment, at this row.
  table.addEventListener("submit", (event) => {
    const back = event.target.elements.back;
    const row = event.target.closest("tr");
    if (back && location.pathname === new URL(finder.action).pathname) back.value = `${location.pathname}${location.search}${row.id === "operation-new" ? "" : `#${row.id}`}`;
  });

  // A row is carried by its grip among the rows of its garment.
  const order = document.querySelector("[data-drag]");
  let carried = null;
  table.addEventListener("pointerdown", (event) => {
    const grip = event.target.closest("[data-grip]");
    if (!grip || event.button) return;
    event.preventDefault();
    const row = grip.closest("tr");
    const rows = () => [...row.parentElement.querySelectorAll("tr[id]")];
    carried = { row, rows, from: rows().indexOf(row) };
    row.classList.add("carried");
    table.setPointerCapture(event.pointerId);
  });
  table.addEventListener("pointermove", (event) => {
    if (!carried) return;
    const over = document.elementFromPoint(event.clientX, event.clientY)?.closest("tr[id]");
    if (!over || over === carried.row || over.parentElement !== carried.row.parentElement) return;
    const rows = carried.rows();
    if (rows.indexOf(over) < rows.indexOf(carried.row)) over.before(carried.row); else over.after(carried.row);
  });
  const drop = (put) => {
    if (!carried) return;
    const { row, rows, from } = carried;
    carried = null;
    row.classList.remove("carried");
    const places = rows().indexOf(row) - from;
    if (!places) return;
    if (!put) { location.reload(); return; }
    order.action = new URL("move/", row.querySelector("[data-open]").href.split("#")[0]);
    order.elements.places.value = places;
    order.submit();
  };
  table.addEventListener("pointerup", () => drop(true));
  table.addEventListener("pointercancel", () => drop(false));
  if (field.value) show();
}
