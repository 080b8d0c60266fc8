// What a person with a thumb, or with weak eyes, would stumble over on this page.
({
  // Ways in and fields below 44 px, those in running text left out (WCAG 2.5.8 does,
  // too). A box counts with its label, a link with what it covers.
  small() {
    const least = 44;
    const found = [];
    const touched = "a[href], button, summary, input, select, textarea";
    for (const one of document.querySelectorAll(touched)) {
      const seen = one.checkVisibility({ visibilityProperty: true });
      const box = one.getBoundingClientRect();
      if (one.ariaHidden === "true") continue; // sends a form by Enter, is not tapped
      if (!seen || box.width < 2 || box.height < 2 || one.closest(".skip-link")) continue;
      if (one.matches("a") && inText(one)) continue;
      const { width, height } = covered(one);
      if (Math.min(width, height) >= least - 0.5) continue;
      const words = one.innerText || one.name || "";
      found.push(`${one.localName} ${Math.round(width)}x${Math.round(height)} ${words}`);
    }
    return found;

    function inText(link) {
      if (getComputedStyle(link).display !== "inline") return false;
      const around = link.closest("p, li, dd, td, th, span.words, .note");
      const own = link.innerText.trim().length;
      return around && around.innerText.trim().length > own + 2;
    }

    function covered(one) {
      let box = one.getBoundingClientRect();
      if (one.matches("[type=checkbox], [type=radio]")) {
        box = one.labels?.[0]?.getBoundingClientRect() ?? box;
      }
      const after = getComputedStyle(one, "::after");
      if (after.position !== "absolute" || after.content === "none") return box;
      const over = one.offsetParent.getBoundingClientRect();
      return {
        width: Math.max(box.width, over.width),
        height: Math.max(box.height, over.height),
      };
    }
  },

  // One element of each look: its contrast is that of all that look alike.
  looks() {
    const known = new Map();
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
      const one = walk.currentNode.parentElement;
      if (!walk.currentNode.data.trim() || !one.checkVisibility()) continue;
      const own = getComputedStyle(one);
      const key = [own.color, own.fill, own.fontSize, own.fontWeight, own.opacity];
      for (let up = one; up; up = up.parentElement) {
        const ground = getComputedStyle(up);
        if (ground.backgroundColor !== "rgba(0, 0, 0, 0)" || ground.filter !== "none") {
          key.push(ground.backgroundColor, ground.filter);
          break;
        }
      }
      if (one.closest("svg")) key.push(one.getAttribute("class"));
      known.set(key.join("|"), known.get(key.join("|")) ?? one);
    }
    return [...known.values()];
  },

  async breaches(options, alike) {
    const where = alike ? { include: this.looks().map((one) => [one]) } : document;
    const { violations } = await axe.run(where, { ...options, resultTypes: ["violations"] });
    return violations.flatMap(({ id, nodes }) =>
      nodes.map(({ target, failureSummary }) => `${id}: ${target}: ${failureSummary}`),
    );
  },
});
