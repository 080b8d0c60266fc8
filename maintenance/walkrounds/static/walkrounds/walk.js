// A walk-around on a bad line: each zone is one small post. What is typed is kept in this
// browser's storage, per walk-around and zone, until the server says that it has it; what
// could not be sent is sent again, by the same member: after a logout it waits for them.
// Everything works without this file.
(() => {
  "use strict";

  const PREFIX = `walk ${document.body.dataset.member} `;
  const FORM = "form[data-walk]";
  const NEVER = new Set(["hidden", "file", "submit", "button"]);
  const TRY_AGAIN = 20_000; // ms; a line may be back without the browser noticing
  const GIVE_UP = 120_000; // ms; a photo on a bad line takes its time
  const waiting = new Set(); // forms whose look is still to be sent

  const words = {
    sending: "Sending …",
    notSent: "Not sent yet. It's saved on this device and will be sent once you're online.",
    notKept:
      "Not sent yet, and this browser can't save it. Keep this page open until it's sent.",
    login:
      "Not sent yet, but saved on this device. You may be logged out: log in, then reopen this page.",
    refused: "Not saved yet: fix what's marked below. What you typed is still here.",
    back: "Here's what you typed. It isn't sent yet.",
    photos: "Here's what you typed. Choose the photos again. It isn't sent yet.",
  };

  // --- the copy in this browser ------------------------------------------------------

  const keyOf = (form) => PREFIX + form.dataset.walk;
  const tokenOf = (form) => form.querySelector("[name=token]");
  const filesOf = (form) => form.querySelector("[type=file]")?.files.length ?? 0;
  const fieldsOf = (form) =>
    [...form.elements].filter((field) => field.name && !NEVER.has(field.type));
  const valueOf = (field) => [field.name, field.value, Boolean(field.checked)];

  const keep = (form) => {
    const copy = {
      token: tokenOf(form).value,
      fields: fieldsOf(form).map(valueOf),
      photos: filesOf(form),
      waiting: waiting.has(form),
    };
    try {
      localStorage.setItem(keyOf(form), JSON.stringify(copy));
      return true;
    } catch {
      return false;
    }
  };

  const kept = (form) => {
    try {
      return JSON.parse(localStorage.getItem(keyOf(form)));
    } catch {
      return null;
    }
  };

  const forget = (key) => {
    try {
      localStorage.removeItem(key);
    } catch {
      // It was never there.
    }
  };

  const putBack = (form, copy) => {
    tokenOf(form).value = copy.token;
    for (const field of fieldsOf(form)) {
      const isBox = field.type === "checkbox";
      const found = copy.fields.find(
        ([name, value]) => name === field.name && (!isBox || value === field.value),
      );
      if (!found) continue;
      if (isBox) field.checked = found[2];
      else field.value = found[1];
    }
    const folded = form.closest("details");
    if (folded) folded.open = true;
  };

  // --- what is said ------------------------------------------------------------------

  const say = (form, text) => {
    const note = form.closest("section").querySelector("[data-state]");
    note.textContent = text;
    note.hidden = !text;
  };

  const count = () => {
    const bar = document.getElementById("walk-waiting");
    const zones = new Set([...waiting].map((form) => form.closest("section").id)).size;
    bar.hidden = zones === 0;
    bar.textContent =
      zones === 1 ? "1 zone isn't sent yet." : `${zones} zones aren't sent yet.`;
  };

  const showErrors = (form, answer) => {
    const section = form.closest("section");
    for (const place of section.querySelectorAll("[data-errors]")) {
      const from = answer.querySelector(`[data-errors="${place.dataset.errors}"]`);
      place.replaceChildren(...(from?.childNodes ?? []));
    }
    form.querySelector(".plain-field:has(.error) :is(input, textarea)")?.focus();
  };

  // --- sending -----------------------------------------------------------------------

  const parsed = (html) =>
    new DOMParser().parseFromString(html, "text/html").querySelector("section");

  // The other form of the zone may hold words that are not sent: it stays as it is.
  const replace = (form, fresh) => {
    const old = form.closest("section");
    const other = [...old.querySelectorAll(FORM)].find((each) => each !== form);
    if (other && (kept(other) || waiting.has(other))) {
      const place = [...fresh.querySelectorAll(FORM)].find(
        (each) => each.dataset.walk === other.dataset.walk,
      );
      if (place) {
        place.closest("details").open = true;
        place.replaceWith(other);
      } else {
        // One tap on a zone that has been looked at meanwhile says nothing more.
        waiting.delete(other);
        forget(keyOf(other));
      }
    }
    old.replaceWith(fresh);
    document.getElementById("walk-progress").textContent = fresh.dataset.progress;
    fresh.querySelector("h2").focus();
  };

  const failed = (form, text) => {
    waiting.add(form);
    say(form, keep(form) ? text : words.notKept);
  };

  const take = async (form, answer) => {
    const token = tokenOf(form).value;
    const fresh = parsed(await answer.text());
    if (answer.ok && answer.headers.get("X-Kept") === token && fresh) {
      waiting.delete(form);
      forget(keyOf(form));
      replace(form, fresh);
    } else if (answer.status === 422 && fresh) {
      waiting.delete(form);
      keep(form);
      say(form, words.refused);
      showErrors(form, fresh);
    } else {
      const out = answer.type === "opaqueredirect" || answer.status === 403;
      failed(form, out ? words.login : words.notSent);
    }
  };

  const send = async (form) => {
    if (form.inert) return;
    const body = new FormData(form); // before nothing can be typed into it any more
    waiting.add(form);
    keep(form);
    form.inert = true;
    say(form, words.sending);
    try {
      const answer = await fetch(form.action, {
        method: "POST",
        body,
        headers: { "X-Walk": "1" },
        redirect: "manual",
        signal: AbortSignal.timeout(GIVE_UP),
      });
      form.inert = false; // so that what is missing can take the focus
      await take(form, answer);
    } catch {
      failed(form, words.notSent);
    } finally {
      form.inert = false;
      count();
    }
  };

  // One after the other: a bad line carries no more.
  const sendAgain = async () => {
    for (const form of [...waiting]) {
      if (form.isConnected) await send(form);
      else waiting.delete(form);
    }
  };

  // --- the page ----------------------------------------------------------------------

  const lookAt = (form) => {
    const copy = kept(form);
    if (!copy || "bound" in form.dataset) return;
    if (form.closest("section").dataset.tokens.split(" ").includes(copy.token)) {
      forget(keyOf(form)); // it had arrived, only the answer had not
      return;
    }
    putBack(form, copy);
    say(form, copy.photos ? words.photos : words.back);
    if (copy.waiting && !copy.photos) send(form);
  };

  const noteChange = (event) => {
    const form = event.target.closest?.(FORM);
    if (form) keep(form);
  };

  document.addEventListener("input", noteChange);
  document.addEventListener("change", noteChange);
  document.addEventListener("submit", (event) => {
    const form = event.target.closest(FORM);
    if (!form) return;
    event.preventDefault();
    send(form);
  });
  window.addEventListener("online", sendAgain);
  setInterval(() => {
    if (!document.hidden) sendAgain();
  }, TRY_AGAIN);
  window.addEventListener("beforeunload", (event) => {
    if ([...waiting].some(filesOf)) event.preventDefault();
  });
  window.addEventListener("pageshow", (event) => {
    if (!event.persisted) document.querySelectorAll(FORM).forEach(lookAt);
  });
})();
