// What a page is to large letters and to a finger: lists of what is amiss, each named by its element.
(() => {
  const name = element => {
    const words = (element.getAttribute("aria-label") || element.innerText || element.value || "").trim();
    const kind = [element.localName, ...element.classList].join(".");
    const within = element.parentElement.className || element.parentElement.localName;
    return `${kind} in ${within}: ${words.slice(0, 40)}`;
  };
  const seen = element =>
    element.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true }) &&
    !element.closest(".visually-hidden, .skip, [inert]") &&
    element.getBoundingClientRect().width > 1;
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];
  const CONTROLS = "a[href], button, summary, select, textarea, input:not([type=hidden])";
  // Blocks of the wide week are drawn to scale: half an hour is low, and a link behind each has all words.
  const to_scale = element => innerWidth >= 1000 && element.closest(".cloth-length");

  // A tile of a wall, a board or the record is a small picture, also where words stand in for it; its link says all of them.
  const pictured = element => element.closest(".board-tile, .tile, .made .whole");

  // A link among other words of a sentence may be as high as its line (WCAG 2.5.8, inline).
  const among_words = element => {
    if (getComputedStyle(element).display !== "inline") return false;
    let block = element.parentElement;
    while (getComputedStyle(block).display === "inline") block = block.parentElement;
    const letters = words => (words || "").replace(/\s/g, "").length;
    const links = all(CONTROLS, block).reduce((sum, link) => sum + letters(link.innerText), 0);
    return letters(block.innerText) > links;
  };
  // A tick is met through its label as well.
  const target = element => {
    const ticks = ["checkbox", "radio"].includes(element.type) ? [...(element.labels || [])] : [];
    const boxes = [element, ...ticks].map(each => each.getBoundingClientRect());
    return boxes.reduce((one, other) => (other.width * other.height > one.width * one.height ? other : one));
  };
  const small = least =>
    all(CONTROLS)
      .filter(element => seen(element) && !among_words(element) && !to_scale(element))
      .map(element => [element, target(element)])
      .filter(([, box]) => Math.min(box.width, box.height) < least - 0.5)
      .map(([element, box]) => `${Math.round(box.width)} x ${Math.round(box.height)}: ${name(element)}`);

  // A word of at most so many letters that goes on in the next line; addresses may (.break).
  const squeezed = most => {
    const found = [];
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const range = document.createRange();
    while (texts.nextNode()) {
      const text = texts.currentNode;
      if (!/\p{L}{2}/u.test(text.data) || !seen(text.parentElement)) continue;
      if (text.parentElement.closest(".break") || pictured(text.parentElement)) continue;
      range.selectNodeContents(text);
      if (range.getClientRects().length < 2) continue;
      for (const word of text.data.matchAll(/[^\s\u2010-\u2014/-]{3,}/gu)) {
        if (word[0].length > most) continue;
        range.setStart(text, word.index);
        range.setEnd(text, word.index + word[0].length);
        const boxes = [...range.getClientRects()].filter(box => box.width);
        if (new Set(boxes.map(box => Math.round(box.top))).size > 1) found.push(`${word[0]}: ${name(text.parentElement)}`);
      }
    }
    return found;
  };

  // What goes on in the next line of a duration, a length, a day, an amount or a number, or is set apart from its sentence.
  const MONTHS = "(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sept?|Oct|Nov|Dec)";
  const FIGURES = new RegExp(
    [
      "\\d+ h \\d\\d\\b", "\\d+ (?:\\d+/\\d+ )?(?:h|min|cm|mm|in|yd|m|%)(?!\\w)", "\\b[A-Z]?\\d{2}-\\d{4}\\b",
      "-?[€$£]\\s?\\d[\\d.,]*", "\\d\\d?:\\d\\d", `(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) \\d+\\b(?! ${MONTHS}\\b)`, `\\b\\d+ ${MONTHS}\\b`,
    ].join("|"),
    "g",
  );
  const broken = () => {
    const found = [];
    const texts = document.createTreeWalker(document.querySelector("main") || document.body, NodeFilter.SHOW_TEXT);
    const range = document.createRange();
    while (texts.nextNode()) {
      const text = texts.currentNode;
      if (!/\d/.test(text.data) || !seen(text.parentElement) || to_scale(text.parentElement)) continue;
      if (text.parentElement.closest("svg, select, textarea, .break")) continue;
      for (const figure of text.data.replace(/\u00a0/g, " ").matchAll(FIGURES)) {
        range.setStart(text, figure.index);
        range.setEnd(text, figure.index + figure[0].length);
        const tops = [...range.getClientRects()].filter(box => box.width > 0.5).map(box => box.top);
        if (Math.max(...tops) - Math.min(...tops) > 4) found.push(`${figure[0]}: ${name(text.parentElement)}`);
      }
    }
    const apart = all("span.figure").filter(figure =>
      /flex|grid/.test(getComputedStyle(figure.parentElement).display) &&
      [...figure.parentElement.childNodes].some(node => node.nodeType === 3 && node.data.trim()));
    return [...found, ...apart.map(figure => `apart: ${name(figure.parentElement)}`)];
  };

  // Words that end at the edge of a box which hides what goes on.
  const cut = () =>
    all("body *").filter(element => {
      // Asked for its size, what is folded away would be laid out for that alone.
      if (!element.checkVisibility()) return false;
      const style = getComputedStyle(element);
      const hides = way => ["hidden", "clip"].includes(way);
      const beyond =
        (hides(style.overflowX) && element.scrollWidth > element.clientWidth + 1) ||
        (hides(style.overflowY) && element.scrollHeight > element.clientHeight + 2);
      return beyond && element.innerText?.trim() && seen(element) && !to_scale(element) && !pictured(element);
    }).map(name);

  // What makes the page scroll sideways.
  const wide = () => document.documentElement.scrollWidth - innerWidth;
  const aside = () => {
    if (wide() <= 0) return [];
    const beyond = element => element.checkVisibility() && element.getBoundingClientRect().right > innerWidth + 1;
    const scrolls = element => {
      for (let each = element.parentElement; each; each = each.parentElement)
        if (each !== document.body && getComputedStyle(each).overflowX !== "visible" && !beyond(each)) return true;
      return false;
    };
    const culprits = all("body *").filter(each => beyond(each) && !scrolls(each));
    const outer = culprits.filter(each => !culprits.some(other => each !== other && each.contains(other)));
    // What is placed absolutely leaves a box that scrolls, unless the box itself is placed.
    return outer.length ? outer.map(name) : [`${wide()} px of the page`];
  };

  // How much of the window bars lie over, in per cent.
  const covered = () => {
    const bars = all("body *").filter(each => {
      const { position } = getComputedStyle(each);
      if (!["fixed", "sticky"].includes(position) || !seen(each)) return false;
      return position === "fixed" || each.getBoundingClientRect().width > innerWidth / 2;
    });
    const high = bars.reduce((sum, bar) => sum + bar.getBoundingClientRect().height, 0);
    return high > innerHeight / 2 ? bars.map(name) : [];
  };

  // What is lost to a reader who sets this, and with words of so many letters whole.
  const readable = (css, most) => {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(`html { opacity: 0 } ${css}`);
    document.adoptedStyleSheets = [sheet];
    return { squeezed: squeezed(most), cut: cut(), aside: aside(), covered: covered() };
  };

  const headings = () => all("h1").length;
  const filled = () => all(".btn.main").filter(seen).map(name);
  window.measures = { small, broken, wide, aside, readable, filled, headings };
})();
