// A tick or a value that could not be sent stays, on the page and on this device, and goes
// once the line is back; the page says so where the thumb is. Everything works without
// this file.
(() => {
  "use strict";

  const sheet = document.querySelector("form.work-sheet");
  const note = sheet?.querySelector("[data-not-kept]");
  if (!note) return;

  // What waits, by the name of its field. It is the member's own, as in site.js.
  const KEY = `sheet ${document.body.dataset.member ?? ""} ${location.pathname}`;
  const waiting = () => JSON.parse(localStorage.getItem(KEY) ?? "{}");

  const keep = (rows) => {
    const some = Object.keys(rows).length > 0;
    if (some) localStorage.setItem(KEY, JSON.stringify(rows));
    else localStorage.removeItem(KEY);
    note.hidden = !some;
  };

  const isBox = (field) => field.type === "checkbox" || field.type === "radio";
  const named = (name) => [...sheet.elements].filter((field) => field.name === name);

  const saidIn = (name) => {
    const [first] = named(name);
    if (!isBox(first)) return first.value;
    return named(name).find((field) => field.checked)?.value ?? "";
  };

  const putBack = (name, said) => {
    for (const field of named(name)) {
      if (isBox(field)) field.checked = field.value === said;
      else field.value = said;
    }
  };

  const send = () => {
    for (const name of Object.keys(waiting())) {
      const fields = named(name);
      const field = fields.find((one) => one.checked) ?? fields[0];
      field?.dispatchEvent(new Event("change", { bubbles: true }));
    }
  };

  for (const name of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
    sheet.addEventListener(name, (event) => {
      const field = event.detail.elt;
      if (field.name) keep({ ...waiting(), [field.name]: saidIn(field.name) });
    });
  }

  sheet.addEventListener("htmx:afterOnLoad", (event) => {
    if (!event.detail.successful) return;
    const { [event.detail.elt.name]: sent, ...rest } = waiting();
    keep(rest);
  });

  // The buttons send all of it.
  sheet.addEventListener("submit", () => {
    if (navigator.onLine) keep({});
  });

  window.addEventListener("online", send);
  window.addEventListener("load", () => {
    for (const [name, said] of Object.entries(waiting())) {
      if (named(name).length) putBack(name, said);
    }
    keep(waiting());
    send();
  });
})();
