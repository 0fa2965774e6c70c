"use strict";
// Steps by arrow keys where something is presented; links that take along where the sliders stand.
(() => {
  const form = document.querySelector("form.sliders");
  const BACK = ["ArrowUp", "PageUp"], ON = ["ArrowDown", "PageDown", " "];

  // The settings as an address has them: what stands as the case has it is left out.
  function settings(without) {
    const asked = new URLSearchParams();
    for (const field of form.elements) {
      if (!field.name || without.includes(field.name)) continue;
      if (field.type === "number" ? field.value !== field.dataset.own : field.value !== "") asked.set(field.name, field.value);
    }
    return asked;
  }

  function carry() {
    for (const link of document.querySelectorAll("a[data-link]")) {
      const kind = link.dataset.link, asked = settings(kind ? ["guess", "at", "ask", "was"] : []);
      if (kind === "start") asked.set("ask", "yes");
      if (kind === "present") asked.set("way", location.pathname.slice(1));
      link.href = `${link.pathname}?${asked}`;
    }
    for (const link of document.querySelectorAll("a[data-keeps]")) {
      const asked = new URLSearchParams(link.search), now = settings(["slider", "way"]);
      for (const field of form.elements) if (field.type === "number") asked.delete(field.name);
      for (const [name, value] of now) asked.set(name, value);
      link.href = `${link.pathname}?${asked}`;
    }
  }

  function step(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const sliding = document.activeElement?.type === "range", typing = document.activeElement?.type === "number";
    const along = sliding || typing ? [] : ["ArrowRight"], back = sliding || typing ? [] : ["ArrowLeft"];
    const on = [...ON, ...along].includes(event.key) && !(event.key === " " && document.activeElement !== document.body);
    const where = on ? "next" : [...BACK, ...back].includes(event.key) ? "prev" : null;
    const link = where && document.querySelector(`a[rel=${where}]`);
    if (!link) return;
    event.preventDefault();
    link.click();
  }

  // A page that is open to a network has no clipboard of its own, but may copy what is selected.
  function copy(button) {
    const address = document.createElement("textarea");
    address.value = button.previousElementSibling.href;
    button.after(address);
    address.select();
    const done = document.execCommand("copy");
    address.remove();
    button.focus();
    button.nextElementSibling.textContent = done ? ` ${button.dataset.copied}` : "";
    setTimeout(() => { button.nextElementSibling.textContent = ""; }, 4000);
  }

  for (const button of document.querySelectorAll("button.copy")) {
    button.hidden = false;
    button.addEventListener("click", () => copy(button));
  }
  if (form) {
    form.addEventListener("input", carry);
    document.addEventListener("answered", carry); // which way is shown, and going back, move no slider
    carry();
  }
  if (document.body.classList.contains("present")) {
    document.addEventListener("keydown", step, true);
    document.querySelector("input[type=range]")?.focus();
  }
})();
