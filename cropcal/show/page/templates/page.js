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
    var since = Math.round((Date.parse(today) - Date.parse(chart.dataset.start)) / 86400000);
    if (since >= 0 && since < Number(chart.dataset.days)) {
      var x = (since + 0.5) * Number(chart.dataset.day);
      chart.querySelectorAll(".bars > svg").forEach(function (svg) {
        var mark = document.createElementNS(svg.namespaceURI, "line");
        mark.setAttribute("class", "today");
        mark.setAttribute("x1", x);
        mark.setAttribute("x2", x);
        mark.setAttribute("y2", svg.getAttribute("height"));
        svg.appendChild(mark);
      });
      chart.scrollLeft = Math.max(x - chart.clientWidth / 3, 0);
    }
  }
  var weeks = Array.from(document.querySelectorAll(".jobs"));
  var place = weeks.findIndex(function (week) { return week.dataset.last >= today; });
  if (place > 0 || (place === 0 && weeks[0].dataset.first <= today)) {
    weeks.forEach(function (week, index) { week.open = index === place || index === place + 1; });
    weeks[place].querySelector(".now").hidden = weeks[place].dataset.first > today;
    if (weeks[place].parentNode.className === "later") weeks[place].parentNode.open = true;
  }
})();
