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

  var now = new Date();
  var today = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map(function (part) {
    return String(part).padStart(2, "0");
  }).join("-");
  var weeks = Array.from(document.querySelectorAll(".jobs"));
  var place = weeks.findIndex(function (week) { return week.dataset.last >= today; });
  if (place > 0 || (place === 0 && weeks[0].dataset.first <= today)) {
    weeks.forEach(function (week, index) { week.open = index === place || index === place + 1; });
    weeks[place].querySelector(".now").hidden = weeks[place].dataset.first > today;
    if (weeks[place].parentNode.className === "later") weeks[place].parentNode.open = true;
  }
})();
