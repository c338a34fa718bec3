// Keeps what is typed: on the server at each change, in the browser when that fails.
"use strict";
(() => {
  const form = document.querySelector("[data-form]");
  if (!form) return;
  const status = document.querySelector("[data-kept]");
  const place = `goldroom-draft-${form.dataset.key}`;
  const skipped = (name) => name === "csrfmiddlewaretoken" || name === "do" || name === "files";

  const boxes = () => {
    const found = {};
    for (const [name, value] of new FormData(form)) {
      if (!skipped(name) && typeof value === "string") found[name] = value;
    }
    return found;
  };

  const keepHere = () => {
    try { localStorage.setItem(place, JSON.stringify(boxes())); } catch (error) { /* full */ }
    if (status) status.textContent = form.dataset.unsaved;
  };

  const keep = () => {
    const sent = new FormData();
    for (const [name, value] of Object.entries(boxes())) sent.append(name, value);
    sent.append("csrfmiddlewaretoken", form.querySelector("[name=csrfmiddlewaretoken]").value);
    sent.append("do", "keep");
    return fetch(location.pathname, { method: "POST", body: sent, redirect: "manual" })
      .then((answer) => {
        if (answer.status !== 204) { keepHere(); return; }
        localStorage.removeItem(place);
        if (status) status.textContent = form.dataset.saved;
      })
      .catch(keepHere);
  };

  // What this browser kept while the server was away comes back first.
  let away = null;
  try { away = JSON.parse(localStorage.getItem(place) || "null"); } catch (error) { away = null; }
  if (away) {
    for (const [name, value] of Object.entries(away)) {
      for (const box of form.querySelectorAll(`[name="${CSS.escape(name)}"]`)) {
        if (box.type === "radio" || box.type === "checkbox") box.checked = box.value === value;
        else box.value = value;
      }
    }
    keep();
  }

  let later = 0;
  form.addEventListener("change", () => { clearTimeout(later); later = setTimeout(keep, 400); });
  form.addEventListener("submit", () => clearTimeout(later));

  // A scanner ends a code with Enter: that moves on to the next box, it never sends.
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.target.tagName !== "INPUT") return;
    event.preventDefault();
    const all = [...form.querySelectorAll("input:not([type=hidden]), select, textarea, button")]
      .filter((box) => !box.disabled && box.offsetParent !== null && box.tabIndex >= 0);
    const next = all[all.indexOf(event.target) + 1];
    if (next) next.focus();
  });
})();
