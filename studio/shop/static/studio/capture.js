// New idea: its sheet opens on any page of own sewing, and a picture is kept the moment it is
// chosen, pasted or dropped. Without this the button leads to the same as a page.

{
const sheet = document.getElementById("new-idea");
const form = (sheet || document).querySelector("[data-capture]");

if (sheet) {
  for (const button of document.querySelectorAll("[data-new-idea]")) {
    button.addEventListener("click", (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey) return;
      event.preventDefault();
      sheet.showPopover();
      sheet.querySelector("[name=words]").focus({ preventScroll: true });
    });
  }
}

// Many pictures to choose one from: words above them leave only those that have them.
for (const picker of document.querySelectorAll("[data-picker]")) {
  const tiles = [...picker.querySelectorAll("label")];
  if (tiles.length < 13) continue;
  const find = document.createElement("input");
  Object.assign(find, { type: "search", className: "picker-find", placeholder: "Find", ariaLabel: "Find among these" });
  find.addEventListener("input", () => {
    const words = find.value.toLowerCase().split(/\s+/);
    for (const tile of tiles) tile.hidden = !tile.querySelector(":checked") && !words.every((word) => tile.textContent.toLowerCase().includes(word));
  });
  find.addEventListener("keydown", (event) => { if (event.key === "Enter") event.preventDefault(); });
  picker.before(find);
}

const pictures = (files) => [...files].filter((file) => file.type.startsWith("image/") || /\.(heic|heif|avif)$/i.test(file.name));

const send = (to, files) => {
  const bag = new DataTransfer();
  for (const file of files) bag.items.add(file);
  to.querySelector("[name=photos][multiple]").files = bag.files;
  to.requestSubmit();
};

for (const each of document.querySelectorAll("[data-capture]")) {
  for (const input of each.querySelectorAll("[type=file]")) {
    input.addEventListener("change", () => { if (input.files.length) each.requestSubmit(); });
  }
  const hint = each.querySelector("[data-paste-hint]");
  each.querySelector("a[href*=draw]")?.addEventListener("click", (event) => {
    const words = each.querySelector("[name=words]").value;
    if (!words) return;
    event.currentTarget.search = new URLSearchParams({ words });
    each.dispatchEvent(new SubmitEvent("submit", { cancelable: false })); // The words go along.
  });
  const paste = each.querySelector("[data-paste]");
  paste.hidden = false;
  paste.addEventListener("click", async () => {
    try {
      const files = [];
      for (const item of await navigator.clipboard.read()) {
        const kind = item.types.find((type) => type.startsWith("image/"));
        if (kind) files.push(new File([await item.getType(kind)], "pasted", { type: kind }));
      }
      if (files.length) { send(each, files); return; }
      hint.textContent = "There is no picture to paste. Copy one, then come back.";
    } catch {
      hint.textContent = "Press Ctrl+V, or hold a field and choose Paste.";
    }
  });
}

if (form) {
  document.addEventListener("paste", (event) => {
    const files = pictures(event.clipboardData?.files || []);
    if (!files.length) return;
    event.preventDefault();
    send(form, files);
  });
  const files = (event) => event.dataTransfer?.types.includes("Files");
  document.addEventListener("dragover", (event) => {
    if (!files(event) || event.target.closest("input[type=file]")) return;
    event.preventDefault();
    document.body.classList.add("drop-here");
  });
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) document.body.classList.remove("drop-here"); });
  document.addEventListener("drop", (event) => {
    document.body.classList.remove("drop-here");
    if (!files(event) || event.target.closest("input[type=file]")) return;
    event.preventDefault();
    const dropped = pictures(event.dataTransfer.files);
    if (dropped.length) send(form, dropped);
  });
}
}
