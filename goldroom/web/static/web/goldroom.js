// Small helps; every page works without them.
"use strict";
(() => {
  const focusable = document.querySelector("[data-focus]");
  if (focusable) focusable.focus();

  // Warn before a session ends for want of work, and let it go on.
  const body = document.body;
  const idle = document.querySelector(".idle");
  if (idle && body.dataset.idleSeconds) {
    let ends = Date.now() + 1000 * Number(body.dataset.idleSeconds);
    const warned = 1000 * Number(body.dataset.warnedBefore);
    let noted = Date.now();
    const stay = () => {
      const token = idle.querySelector("[name=csrfmiddlewaretoken]").value;
      return fetch(body.dataset.stay, { method: "POST", headers: { "X-CSRFToken": token } })
        .then((answer) => {
          if (!answer.ok || answer.redirected) return;
          ends = Date.now() + 1000 * Number(body.dataset.idleSeconds);
          noted = Date.now();
          idle.hidden = true;
        });
    };
    idle.querySelector("form").addEventListener("submit", (event) => {
      event.preventDefault();
      stay();
    });
    document.addEventListener("input", () => {
      if (Date.now() - noted > warned) stay();
    });
    setInterval(() => {
      const left = ends - Date.now();
      if (left < warned && idle.hidden) idle.hidden = false;
      if (left < 0) location.reload();
    }, 5000);
  }

  // A double click sends once; the server would take it once anyway.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.dataset.sent) { event.preventDefault(); return; }
    if (form.method === "post" && !event.defaultPrevented) {
      form.dataset.sent = "1";
      setTimeout(() => { delete form.dataset.sent; }, 8000);
    }
  });
})();
