// Says when a tick or a value could not be kept; everything else works without script.
(() => {
  "use strict";

  const show = (event, hidden) => {
    const sheet = event.target.closest?.(".work-sheet");
    const note = sheet?.querySelector("[data-not-kept]");
    if (note) note.hidden = hidden;
  };

  for (const name of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
    document.addEventListener(name, (event) => show(event, false));
  }
  document.addEventListener("htmx:afterOnLoad", (event) => {
    if (event.detail.successful) show(event, true);
  });
})();
