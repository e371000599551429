(() => {
  const found = new Map();
  const solid = c => c && c !== "none" && !/rgba\(.*, 0\)$/.test(c) && c !== "transparent";
  const behind = el => {
    for (let e = el; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor;
      if (solid(c)) return c;
    }
    return "rgb(255, 255, 255)";
  };
  const note = (What, Ink, Ground, Graphic) => {
    if (solid(Ink)) found.set([What, Ink, Ground, Graphic].join("|"), { What, Ink, Ground, Graphic });
  };
  const visible = el => el.checkVisibility ? el.checkVisibility() : true;
  // Every text that is seen, mathematics among it; what is drawn comes below.
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), done = new Set();
  while (texts.nextNode()) {
    const el = texts.currentNode.parentElement;
    if (done.has(el) || !texts.currentNode.data.trim() || el.closest("svg, .unseen") || !visible(el)) continue;
    done.add(el);
    if (getComputedStyle(el).opacity !== "1") note("opacity", "rgb(0, 0, 0)", "rgb(0, 0, 0)", false);
    note((el.closest("[class]")?.className ?? "") + " " + el.tagName, getComputedStyle(el).color, behind(el), false);
  }
  const ruling = "fig-fine fig-grid fig-paper fig-hit".split(" ");
  for (const svg of document.querySelectorAll("svg.fig")) {
    if (!visible(svg)) continue;
    const grounds = new Set([behind(svg)]);
    for (const p of svg.querySelectorAll(".fig-paper")) grounds.add(getComputedStyle(p).fill);
    for (const el of svg.querySelectorAll("text, path, rect, line, circle, polyline")) {
      const s = getComputedStyle(el), name = el.getAttribute("class") || el.tagName;
      if (ruling.some(r => name.split(" ").includes(r))) continue;
      for (const g of grounds) {
        if (el.tagName === "text") note(name, s.fill, g, false);
        else {
          note(name, s.stroke, g, true);
          note(name, s.fill, g, true);
        }
      }
    }
  }
  return JSON.stringify([...found.values()]);
})()
