// Says when a tick or a value could not be kept, and takes such a tick off again, so that
// the sheet shows what is kept. Everything works without this file.
(() => {
  "use strict";

  const say = (event, hidden) => {
    const sheet = event.target.closest?.(".work-sheet");
    const note = sheet?.querySelector("[data-not-kept]");
    if (note) note.hidden = hidden;
    return Boolean(note);
  };

  for (const name of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
    document.addEventListener(name, (event) => {
      const field = event.target;
      if (say(event, false) && field.type === "checkbox") field.checked = !field.checked;
    });
  }
  document.addEventListener("htmx:afterOnLoad", (event) => {
    if (event.detail.successful) say(event, true);
  });
})();
