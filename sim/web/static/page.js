"use strict";
// Without this script every page works by its button. With it answers come while a slider moves: the newest setting
// is asked for, an older request is given up, and no older answer ever replaces a newer one.
(() => {
  const FRESH = 400; // ms for which a running request may still bring its answer
  const REST = 1500; // ms without a move, after which what stands there is what the next one is compared with
  const TOGETHER = 1000; // ms within which moves of one slider are one step back
  const form = document.querySelector("form.sliders");
  const answer = document.getElementById("answer");
  const status = document.querySelector("[data-status]");
  const APART = ["through", "guess", "at", "stage", "was"]; // fields that are no settings
  const PLAIN = [...APART, "case", "units"];
  const small = window.matchMedia("(max-width: 40rem)");

  const pause = (time) => new Promise((done) => setTimeout(done, time));
  const asPart = () => ({ "X-Part": small.matches ? "narrow" : "wide" });

  function addRanges() {
    for (const number of document.querySelectorAll(".slider input[type=number]")) {
      const range = document.createElement("input");
      range.type = "range";
      range.min = number.min;
      range.max = number.max;
      range.step = number.dataset.step;
      range.setAttribute("aria-labelledby", `${number.id}-label`);
      number.closest(".slider").append(range);
      const say = () => range.setAttribute("aria-valuetext", number.value === "" ? number.dataset.blank : `${number.value} ${number.dataset.unit}`.trim());
      const follow = () => {
        range.value = number.value === "" ? number.min : number.value;
        range.classList.toggle("blank", number.value === "");
        range.classList.toggle("none", Number(number.value) === 0);
        say();
      };
      follow();
      number.addEventListener("input", follow);
      range.addEventListener("input", () => {
        number.value = range.value;
        follow();
      });
      number.follow = follow;
    }
  }

  // On a small screen all groups of settings but the first are folded, so that the figure stays near.
  function foldGroups() {
    if (!small.matches) return;
    const groups = [...document.querySelectorAll(".sliders fieldset")];
    if (groups.length < 3) return;
    groups.forEach((group) => {
      const name = group.querySelector("legend span");
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = name.textContent;
      const fold = (folded) => {
        group.classList.toggle("folded", folded);
        button.setAttribute("aria-expanded", String(!folded));
      };
      button.addEventListener("click", () => fold(!group.classList.contains("folded")));
      name.replaceWith(button);
      fold(true);
    });
  }

  // The settings as an address has them: what stands as the case has it is left out.
  function query(without = []) {
    const asked = new URLSearchParams();
    for (const field of form.elements) {
      if (!field.name || without.includes(field.name)) continue;
      if (field.value === "" && (!("blank" in field.dataset) || field.dataset.own === "")) continue;
      if (field.type === "number" && field.value !== "" && field.dataset.own !== ""
          && Number(field.value) === Number(field.dataset.own)) continue;
      asked.set(field.name, field.value);
    }
    return asked.toString();
  }

  // Links to “My plant” take along where the sliders stand.
  function carry() {
    if (!inOrder()) return;
    const asked = query(APART);
    for (const link of document.querySelectorAll("a[data-carry]")) link.href = asked ? `/plant?${asked}` : "/plant";
  }

  function inOrder() {
    return [...form.elements].every((field) => field.type !== "number" || field.checkValidity());
  }

  async function put(place, html, stillWanted) {
    const holder = document.createElement("template");
    holder.innerHTML = html;
    await Promise.all([...holder.content.querySelectorAll("img:not(.still)")].map((image) => image.decode().catch(() => {})));
    if (!stillWanted()) return false;
    const focused = place.contains(document.activeElement) ? document.activeElement : null;
    place.replaceChildren(holder.content);
    place.dispatchEvent(new CustomEvent("placed", { bubbles: true }));
    if (focused?.isConnected) focused.focus({ preventScroll: true });
    else if (focused?.dataset.through) place.querySelector(`a[data-through="${CSS.escape(focused.dataset.through)}"]`)?.focus();
    return true;
  }

  // Put one of the page's own notices, or how far an answer is, over the answer that stands there.
  function over(place, node) {
    place.querySelector(":scope > .over")?.remove();
    if (!place.querySelector(".answer")) return place.replaceChildren(node);
    node.classList.add("over");
    place.prepend(node);
  }
  const notice = (place, name) => over(place, document.querySelector(`template[data-${name}]`).content.firstElementChild.cloneNode(true));

  // One place of the page that follows the sliders.
  function follower(place, path) {
    let newest = 0, shown = 0, running = null, lastQuery = null, later = null;

    function ask() {
      clearTimeout(later);
      if (!inOrder()) return;
      const age = running ? performance.now() - running.since : Infinity;
      if (age < FRESH) {
        later = setTimeout(ask, FRESH - age);
        return;
      }
      send();
    }

    async function send() {
      const mine = ++newest, asked = query();
      running?.control.abort();
      const control = new AbortController();
      running = { control, since: performance.now() };
      lastQuery = asked;
      place.setAttribute("aria-busy", "true");
      try {
        await fetchAll(mine, asked, control.signal);
      } catch (error) {
        if (error.name !== "AbortError" && mine === newest) {
          notice(place, "no-answer");
        }
      }
      if (mine !== newest) return;
      running = null;
      place.removeAttribute("aria-busy");
      if (inOrder() && query() !== lastQuery) ask();
    }

    async function fetchAll(mine, asked, signal) {
      for (;;) {
        const response = await fetch(`${path}?${asked}`, { signal, headers: asPart() });
        const html = await response.text();
        if (mine < shown || mine !== newest) return;
        shown = mine;
        if (response.status === 202) {
          const holder = document.createElement("template");
          holder.innerHTML = html;
          over(place, holder.content.querySelector(".going"));
        } else {
          const put_ = await put(place, html, () => mine === newest);
          const said = place.querySelector("[data-say], .refusal p");
          if (put_ && said && status && place === answer) status.textContent = said.textContent;
          place.dispatchEvent(new CustomEvent("answered", { bubbles: true, detail: asked }));
          return;
        }
        await pause(400);
        if (mine !== newest) return;
      }
    }

    function stop() {
      newest += 1;
      running?.control.abort();
      running = null;
      place.removeAttribute("aria-busy");
    }

    return { ask, stop };
  }

  function live() {
    const main = follower(answer, `${form.getAttribute("action")}/answer`);
    const was = form.elements.was;
    let last = { name: "", at: 0 }, stands = query(PLAIN), moved = -REST;
    form.classList.add("follows");

    function changed(name, keep) {
      const address = `${location.pathname}?${query()}`;
      const now = performance.now();
      if (address !== location.pathname + location.search) {
        const again = keep || (name === last.name && now - last.at < TOGETHER);
        history[again ? "replaceState" : "pushState"](null, "", address);
      }
      last = { name, at: now };
    }

    // Where the sliders stood is asked for too, until nothing has moved for a while.
    if (was) {
      was.value = new URLSearchParams(location.search).get("was") ?? "";
      form.addEventListener("input", () => {
        if (performance.now() - moved > REST) was.value = stands || "own";
        moved = performance.now();
      }, true);
      answer.addEventListener("answered", (event) => {
        const shown = new URLSearchParams(event.detail);
        PLAIN.forEach((name) => shown.delete(name));
        stands = shown.toString();
      });
    }
    form.addEventListener("input", main.ask);
    form.addEventListener("change", (event) => {
      if (inOrder()) changed(event.target.name || event.target.getAttribute("aria-labelledby"));
    });
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (form.reportValidity()) { changed("submit"); main.ask(); }
    });
    document.addEventListener("click", (event) => {
      const link = event.target.closest("a[data-through]");
      const other = event.target.closest("a[data-switch]");
      if (other && query() && location.search !== `?${query()}`) changed("switch", true);
      if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
      event.preventDefault();
      field("through").value = link.dataset.through;
      changed("through");
      main.ask();
    });
    window.addEventListener("popstate", () => {
      const asked = new URLSearchParams(location.search);
      for (const each of form.elements) {
        if (each.type === "number") each.value = asked.get(each.name) ?? each.dataset.own;
        each.follow?.();
      }
      carry();
      if (was) [was.value, moved] = [asked.get("was") ?? "", -REST];
      if (form.elements.through) form.elements.through.value = asked.get("through") ?? "";
      main.ask();
    });
    document.addEventListener("submit", async (event) => {
      if (!event.target.matches("[data-cancel]")) return;
      event.preventDefault();
      main.stop();
      await fetch(event.target.action, { method: "POST", headers: asPart() });
      notice(answer, "cancelled");
    });
    small.addEventListener("change", main.ask);
    if ((small.matches && answer.querySelector(".wide img")) || answer.querySelector("[data-going]")) main.ask();
  }

  function field(name) {
    if (!form.elements[name]) {
      const hidden = document.createElement("input");
      hidden.type = "hidden";
      hidden.name = name;
      form.prepend(hidden);
    }
    return form.elements[name];
  }

  // Another language of the same page, wherever its sliders stand now.
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-language]");
    if (!link) return;
    const asked = new URLSearchParams(location.search);
    asked.set("language", link.hreflang);
    link.search = asked;
  });

  addRanges();
  foldGroups();
  if (form) form.addEventListener("input", carry);
  if (form && "live" in form.dataset) live();
  if (document.querySelector("[data-reload]")) setTimeout(() => location.reload(), 1000);
})();
