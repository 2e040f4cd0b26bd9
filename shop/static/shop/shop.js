// Small comforts; every page works without them.
(() => {
  "use strict";
  const find = () => document.getElementById("find");

  document.addEventListener("keydown", (press) => {
    const writing = /^(input|textarea|select)$/i.test(press.target.tagName);
    if (press.key === "/" && !writing && !press.ctrlKey && !press.metaKey && find()) {
      press.preventDefault();
      find().focus();
    }
  });

  // A form that acts is sent once; the server holds to that too.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post") return;
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "1";
    setTimeout(() => form.querySelectorAll("button").forEach((button) => { button.disabled = true; }), 0);
  });
  window.addEventListener("pageshow", () => document.querySelectorAll("form[data-sent]").forEach((form) => {
    delete form.dataset.sent;
    form.querySelectorAll("button").forEach((button) => { button.disabled = false; });
  }));

  // The unit picked for one field is offered for others of its kind on the same page that are still empty.
  document.addEventListener("change", (event) => {
    const picker = event.target.closest("select.unit");
    if (!picker) return;
    document.querySelectorAll(`select.unit[data-kind="${picker.dataset.kind}"]`).forEach((other) => {
      const box = other.parentElement.querySelector("input");
      if (other !== picker && box && !box.value) other.value = picker.value;
    });
  });

  // Charts: arrow keys and the pointer walk the readings, the figures are spoken below the picture.
  const spots = (chart) => [...chart.querySelectorAll("[data-says]")];
  const show = (chart, spot) => {
    spots(chart).forEach((other) => other.classList.toggle("at", other === spot));
    const line = chart.parentElement.querySelector(".says");
    if (line) line.textContent = spot ? spot.dataset.says : "";
  };
  document.addEventListener("keydown", (press) => {
    const chart = press.target.closest && press.target.closest("svg.chart");
    if (!chart) return;
    const all = spots(chart);
    const now = all.findIndex((spot) => spot.classList.contains("at"));
    const to = { ArrowRight: now + 1, ArrowLeft: now < 0 ? all.length - 1 : now - 1, Home: 0, End: all.length - 1 }[press.key];
    if (to === undefined || !all.length) return;
    press.preventDefault();
    show(chart, all[Math.min(Math.max(to, 0), all.length - 1)]);
  });
  document.addEventListener("pointerover", (event) => {
    const spot = event.target.closest && event.target.closest("svg.chart [data-says]");
    if (spot) show(spot.closest("svg.chart"), spot);
  });

  // Sliders: the slider and its box move together, and the part of the page they change is asked for anew.
  let asked = 0;
  const freshPart = (form) => {
    clearTimeout(asked);
    asked = setTimeout(async () => {
      const mine = asked;
      const words = new URLSearchParams(new FormData(form));
      words.set("part", "1");
      const answer = await fetch(`${form.getAttribute("action").split("#")[0]}?${words}`, { headers: { Accept: "text/html" } });
      if (!answer.ok || answer.redirected || mine !== asked) return;
      const part = document.getElementById(form.dataset.live);
      part.innerHTML = await answer.text();
      const told = part.querySelector(".what-changes");
      if (told && part.previousElementSibling.matches("[role=status]")) part.previousElementSibling.textContent = told.textContent;
    }, 150);
  };
  document.addEventListener("input", (event) => {
    const form = event.target.closest("form[data-live]");
    if (!form) return;
    const pair = event.target.closest(".slider");
    if (pair) pair.querySelectorAll("input:not([type=hidden])").forEach((other) => { if (other !== event.target) other.value = event.target.value; });
    freshPart(form);
  });
})();
