"use strict";
(function () {
  var zones = JSON.parse(document.getElementById("hours-data").textContent);

  document.querySelectorAll(".slide").forEach(function (box) {
    var zone = zones[Number(box.dataset.zone)];
    var input = box.querySelector("input");
    var mark = box.parentNode.querySelector(".mark");
    var rows = box.querySelectorAll("tbody tr");

    function show() {
      var one = zone.settings[Number(input.value)];
      box.querySelectorAll("[data-show]").forEach(function (place) {
        place.textContent = one[place.dataset.show];
      });
      one.crops.forEach(function (crop, index) {
        var cells = rows[index].querySelectorAll("td");
        cells[0].className = "fares " + crop[0];
        for (var n = 0; n < cells.length; n += 1) cells[n].textContent = crop[n + 1];
      });
      input.setAttribute("aria-valuetext", one.spoken);
      mark.setAttribute("x1", one.at);
      mark.setAttribute("x2", one.at);
    }

    input.addEventListener("input", show);
    show();
    box.hidden = false;
  });
  document.querySelectorAll(".plain").forEach(function (table) {
    table.open = false;
  });

  var chart = document.getElementById("chart");
  var bars = chart ? Array.from(chart.querySelectorAll(".batch")) : [];

  function tell(bar) {
    var story = document.getElementById("story");
    var found = document.getElementById(bar.getAttribute("href").slice(1));
    bars.forEach(function (other) {
      other.classList.toggle("chosen", other.getAttribute("href") === bar.getAttribute("href"));
      other.setAttribute("tabindex", other === bar ? "0" : "-1");
    });
    story.replaceChildren.apply(story, Array.from(found.cloneNode(true).childNodes));
  }

  bars.forEach(function (bar, index) {
    bar.setAttribute("tabindex", index ? "-1" : "0");
    bar.addEventListener("focus", function () { tell(bar); });
    bar.addEventListener("click", function (event) {
      event.preventDefault();
      bar.focus();
      tell(bar);
    });
    bar.addEventListener("keydown", function (event) {
      var step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      var to = event.key === "Home" ? 0 : event.key === "End" ? bars.length - 1 : index + step;
      if (!bars[to]) return;
      event.preventDefault();
      bars[to].focus();
    });
  });

  function reveal() {
    var target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!target) return;
    var part = target.querySelector(":scope > details");
    if (part) part.open = true;
    for (var fold = target; fold; fold = fold.parentElement) {
      if (fold.tagName === "DETAILS") fold.open = true;
    }
    target.scrollIntoView();
  }

  document.querySelectorAll('a[href^="#"]:not(.batch)').forEach(function (link) {
    link.addEventListener("click", function () { setTimeout(reveal); });
  });
  addEventListener("hashchange", reveal);
  if (location.hash) reveal();

  document.querySelectorAll(".scroll, .chart").forEach(function (box) {
    var hint = document.createElement("p");
    hint.className = "hint";
    hint.textContent = "Scroll sideways for more \u2192";
    hint.hidden = true;
    box.before(hint);
    var seen = new ResizeObserver(function () { hint.hidden = box.scrollWidth <= box.clientWidth + 1; });
    seen.observe(box);
    seen.observe(box.firstElementChild);
  });

  if (chart) {
    var zooms = Array.from(document.querySelectorAll(".zoom input"));
    var middle = 0;
    var keepMiddle = function () { middle = (chart.scrollLeft + chart.clientWidth / 2) / chart.scrollWidth; };
    chart.addEventListener("scroll", keepMiddle);
    zooms.forEach(function (zoom) {
      zoom.addEventListener("change", function () {
        chart.scrollLeft = middle * chart.scrollWidth - chart.clientWidth / 2;
      });
    });
    chart.addEventListener("keydown", function (event) {
      var step = { "+": 1, "=": 1, "-": -1 }[event.key];
      var next = zooms[zooms.findIndex(function (zoom) { return zoom.checked; }) + step];
      if (!next || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      next.checked = true;
      next.dispatchEvent(new Event("change"));
    });
  }

  var unfold = document.getElementById("unfold");
  unfold.addEventListener("click", function () {
    document.querySelectorAll("details").forEach(function (fold) { fold.open = true; });
  });
  unfold.hidden = false;

  var now = new Date();
  var today = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map(function (part) {
    return String(part).padStart(2, "0");
  }).join("-");
  var dry = document.getElementById("runs-dry");
  if (dry) dry.hidden = dry.dataset.from > today;
  if (chart) {
    var days = Number(chart.dataset.days);
    var since = Math.round((Date.parse(today) - Date.parse(chart.dataset.start)) / 86400000);
    if (since >= 0 && since < days) {
      var at = (since + 0.5) / days;
      chart.querySelectorAll(".bars > svg").forEach(function (svg) {
        var mark = document.createElementNS(svg.namespaceURI, "line");
        mark.setAttribute("class", "today");
        mark.setAttribute("x1", 100 * at + "%");
        mark.setAttribute("x2", 100 * at + "%");
        mark.setAttribute("y2", svg.getAttribute("height"));
        svg.appendChild(mark);
      });
      var toToday = function () {
        chart.scrollLeft = Math.max(at * chart.scrollWidth - chart.clientWidth / 3, 0);
      };
      toToday();
      chart.closest("details").addEventListener("toggle", toToday, { once: true });
    }
  }
  var weeks = Array.from(document.querySelectorAll(".jobs"));
  var place = weeks.findIndex(function (week) { return week.dataset.last >= today; });
  if (place > 0 || (place === 0 && weeks[0].dataset.first <= today)) {
    var open = Number(document.getElementById("jobs").dataset.open);
    weeks.forEach(function (week, index) { week.open = index >= place && index < place + open; });
    weeks[place].querySelector(".now").hidden = weeks[place].dataset.first > today;
    if (weeks[place].parentNode.className === "later") weeks[place].parentNode.open = true;
  }
})();
