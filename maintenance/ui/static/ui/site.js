// Three things only: what is typed survives a post that failed, a photo is sent once it
// is taken, and focus follows new content. Every page works without this file.
(() => {
  "use strict";

  // --- kept forms ------------------------------------------------------------------
  // A form with data-keep is copied onto this device while it is filled in, so that a line
  // that is lost or a page that is closed loses nothing. The copy is offered, never put in
  // unasked, and goes once a page says that it was saved (data-saved, on every message of
  // success), or after a week. A form with a password is not copied. It is the member's
  // own: whoever logs in here next is not offered it.

  const PREFIX = `kept ${document.body.dataset.member ?? ""} `;
  const WEEK = 7 * 24 * 3600 * 1000;
  const NEVER = new Set(["hidden", "file", "submit", "button", "reset"]);
  const KEPT_FORM = "form[data-keep]:not(:has([type=password]))";

  const keyOf = (form) =>
    `${PREFIX}${location.pathname}${location.search} ${form.dataset.keep}`;

  const fieldsOf = (form) =>
    [...form.elements].filter((field) => field.name && !NEVER.has(field.type));

  const isBox = (field) => field.type === "checkbox" || field.type === "radio";

  const valueOf = (field) => {
    if (isBox(field)) return [field.name, field.value, field.checked];
    if (field.type === "select-multiple") {
      return [field.name, [...field.selectedOptions].map((option) => option.value)];
    }
    return [field.name, field.value];
  };

  const copyOf = (form) => fieldsOf(form).map(valueOf);

  const keep = (form, sent) =>
    localStorage.setItem(
      keyOf(form),
      JSON.stringify({ fields: copyOf(form), sent, at: Date.now() }),
    );

  const putBack = (form, kept) => {
    const left = [...kept];
    for (const field of fieldsOf(form)) {
      const at = left.findIndex(
        ([name, value]) => name === field.name && (!isBox(field) || value === field.value),
      );
      if (at < 0) continue;
      const [[, value, checked]] = left.splice(at, 1);
      if (isBox(field)) field.checked = checked;
      else if (Array.isArray(value)) {
        for (const option of field.options) option.selected = value.includes(option.value);
      } else field.value = value;
    }
  };

  const forget = (prefix, done) => {
    for (const key of Object.keys(localStorage)) {
      if (!key.startsWith(prefix)) continue;
      if (done(JSON.parse(localStorage.getItem(key)))) localStorage.removeItem(key);
    }
  };
  const forgetSent = () => forget(PREFIX, (copy) => copy.sent);
  const forgetOld = () => forget("kept ", (copy) => Date.now() - copy.at > WEEK);

  const button = (words, look, act) => {
    const made = document.createElement("button");
    made.type = "button";
    made.className = `button ${look}`;
    made.textContent = words;
    made.addEventListener("click", act);
    return made;
  };

  const offer = (form, kept) => {
    const note = document.createElement("div");
    note.className = "note kept no-print";
    note.setAttribute("role", "status");
    const words = document.createElement("p");
    words.textContent = "You began to fill this in, and it wasn't saved.";
    if (form.querySelector("[type=file]")) {
      words.textContent += " Choose photos and files again.";
    }
    const close = () => {
      note.remove();
      fieldsOf(form)[0]?.focus();
    };
    note.append(
      words,
      button("Put it back", "main", () => {
        putBack(form, kept);
        close();
      }),
      button("Throw it away", "quiet", () => {
        localStorage.removeItem(keyOf(form));
        close();
      }),
    );
    form.before(note);
  };

  const lookAtForms = () => {
    for (const form of document.querySelectorAll(KEPT_FORM)) {
      const text = localStorage.getItem(keyOf(form));
      // A form that came back with errors holds what was typed already.
      if (!text || "bound" in form.dataset) continue;
      const { fields } = JSON.parse(text);
      if (JSON.stringify(fields) !== JSON.stringify(copyOf(form))) offer(form, fields);
    }
  };

  const noteChange = (sent) => (event) => {
    const form = event.target.closest?.(KEPT_FORM);
    if (form) keep(form, sent);
  };

  document.addEventListener("input", noteChange(false));
  document.addEventListener("change", noteChange(false));
  document.addEventListener("submit", noteChange(true));

  // --- sent at once ----------------------------------------------------------------
  // A photo taken in the driveway is sent as soon as it is chosen: one tap.

  document.addEventListener("change", (event) => {
    const form = event.target.closest?.("form[data-send-at-once]");
    if (form && event.target.type === "file" && event.target.value) form.requestSubmit();
  });

  // --- focus -----------------------------------------------------------------------

  const focusOn = (target) => {
    if (!target.matches("a, button, input, select, textarea, [tabindex]")) {
      target.tabIndex = -1;
    }
    target.focus();
  };

  // The key / goes to the search, but not from where somebody types.
  document.addEventListener("keydown", (event) => {
    const search = document.querySelector("#site-search");
    const typing = event.target.closest("input, select, textarea, [contenteditable]");
    if (event.key !== "/" || !search || typing || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    search.focus();
  });

  const ASKS = '[data-focus], [aria-invalid="true"]';

  document.addEventListener("htmx:afterSettle", (event) => {
    const area = event.detail.elt;
    if (area.querySelector("[data-saved]") || area.matches("[data-saved]")) forgetSent();
    const asks = area.matches(ASKS) ? area : area.querySelector(ASKS);
    if (asks) focusOn(asks);
    else if (document.activeElement === document.body) focusOn(area);
  });

  // Only now has the browser put back what it remembers of a form by itself.
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) return;
    if (document.querySelector("[data-saved]")) forgetSent();
    forgetOld();
    lookAtForms();
    const asks = document.querySelector("main [data-focus]");
    if (asks) focusOn(asks);
  });
})();
