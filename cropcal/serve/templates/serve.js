"use strict";
// Ticks without loading a page anew. Without this script every form works all the same.
(function () {
  function replaceMain(html, key) {
    var fresh = new DOMParser().parseFromString(html, "text/html").getElementById("main");
    if (!fresh) return false;
    var before = document.getElementById("main");
    var open = Array.from(before.querySelectorAll("details[open] > summary"), function (one) {
      return one.textContent;
    });
    before.replaceWith(fresh);
    fresh.querySelectorAll("details > summary").forEach(function (one) {
      if (open.indexOf(one.textContent) >= 0) one.parentNode.open = true;
    });
    var next = Array.from(fresh.querySelectorAll("[data-key]")).find(function (one) {
      return one.dataset.key === key;
    });
    var said = document.getElementById("said");
    if (said && said.querySelector(".wrong")) {
      said.focus();
      said.scrollIntoView({ block: "center" });
    } else if (next) {
      next.focus({ preventScroll: true });
    }
    return true;
  }

  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (!form.hasAttribute("data-live")) return;
    event.preventDefault();
    if (form.classList.contains("going")) return;
    form.classList.add("going");
    var sent = new URLSearchParams(new FormData(form, event.submitter));
    var keyed = form.querySelector("[data-key]");
    var key = keyed ? keyed.dataset.key : "";
    fetch(form.action, { method: "POST", body: sent, credentials: "same-origin" })
      .then(function (answer) {
        if (!answer.ok) throw new Error(String(answer.status));
        return answer.text();
      })
      .then(function (html) {
        if (!replaceMain(html, key)) throw new Error("no page");
      })
      .catch(function () {
        form.classList.remove("going");
        var said = document.getElementById("said");
        var words = document.createElement("p");
        words.className = "said wrong";
        words.textContent = "No answer from the computer that serves this page, so it is not sure that this was noted. Tap again once it is back: nothing is noted twice.";
        said.replaceChildren(words);
        said.focus();
        said.scrollIntoView({ block: "center" });
      });
  });

  var followed = document.querySelector("[data-follow]");
  function follow() {
    fetch(followed.dataset.follow, { credentials: "same-origin" })
      .then(function (answer) { return answer.json(); })
      .then(function (now) {
        if (now.stage !== "planning") {
          window.location.reload();
          return;
        }
        followed.querySelector("[data-spent]").textContent = now.spent_s;
        followed.querySelector("[data-trials]").textContent = now.trials;
        window.setTimeout(follow, 1000);
      })
      .catch(function () { window.setTimeout(follow, 3000); });
  }
  if (followed) follow();

  // Two windows: what another one noted is shown when this one is looked at again.
  document.addEventListener("visibilitychange", function () {
    var typing = document.activeElement && document.activeElement.matches("input, select");
    if (document.visibilityState !== "visible" || typing || !document.querySelector(".served.week, .served.journal")) return;
    fetch(window.location.pathname + window.location.search.replace(/[?&]of=[^&]*/, ""), { credentials: "same-origin" })
      .then(function (answer) { return answer.ok ? answer.text() : ""; })
      .then(function (html) { if (html) replaceMain(html, ""); })
      .catch(function () {});
  });
})();
