// A test in progress: each field is kept as it is written. With no connection it is kept on this device and sent when there is one again.
(() => {
  "use strict";
  const form = document.getElementById("open-test");
  if (!form || form.dataset.readonly) return;
  const line = document.getElementById("kept");
  const shelf = `swashbook-test-${form.dataset.test}-${form.dataset.who}`;
  const PAUSE_MS = 700;
  const AGAIN_MS = 4000;

  // The queue: one entry for each field not yet kept by the server, newest value only. It lives in the browser's own store.
  let memory = {};
  const read = () => {
    try { return JSON.parse(localStorage.getItem(shelf)) || {}; } catch { return memory; }
  };
  const write = (queue) => {
    memory = queue;
    try {
      if (Object.keys(queue).length) localStorage.setItem(shelf, JSON.stringify(queue)); else localStorage.removeItem(shelf);
    } catch { /* store full or shut: the queue then lives as long as the page */ }
  };
  const newKey = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");

  const say = (state, words) => { if (line.textContent !== words) line.textContent = words; line.dataset.state = state; };
  const counted = () => { const n = Object.keys(read()).length; return `${n} field${n === 1 ? "" : "s"}`; };

  const valueOf = (control) => (control.type === "checkbox" ? (control.checked ? "on" : "") : control.value);
  const isOurs = (control) => control.name && control.name.split("-").length === 3 && !control.disabled && control.type !== "hidden";

  const note = (control) => {
    const queue = read();
    const parts = [control];
    const pair = control.closest(".measure");
    if (pair) {
      const box = pair.querySelector("input");
      if (!box.value && control !== box) return false;
      parts.splice(0, 1, ...pair.querySelectorAll("input, select"));
    }
    parts.filter(isOurs).forEach((part) => {
      if (part.type === "radio" && !part.checked) return;
      queue[part.name] = { key: newKey(), value: valueOf(part), made_at: new Date().toISOString() };
    });
    write(queue);
    return true;
  };

  const put = (name, value) => form.querySelectorAll(`[name="${CSS.escape(name)}"]`).forEach((control) => {
    if (control.type === "radio") control.checked = control.value === value;
    else if (control.type === "checkbox") control.checked = value === "on";
    else control.value = value;
  });

  const show = (answer) => {
    Object.entries(answer.beside || {}).forEach(([key, words]) => {
      const place = document.getElementById(`beside-${key}`);
      if (place && place.innerHTML.trim() !== words) place.innerHTML = words;
    });
    form.querySelectorAll("[data-asks]").forEach((tick) => { tick.hidden = !(answer.asks || []).includes(tick.dataset.asks); });
  };

  const ask = (marks) => fetch(form.dataset.marks, {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-CSRFToken": form.querySelector("[name=csrfmiddlewaretoken]").value },
    body: JSON.stringify({ now: new Date().toISOString(), marks }),
  });

  // After signing in again the page's own word to the server is out of date: the page is asked for anew and the new word taken from it.
  const freshWord = async () => {
    const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
    if (!answer.ok || answer.redirected) return false;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const word = page.querySelector("#open-test [name=csrfmiddlewaretoken]");
    if (word) form.querySelector("[name=csrfmiddlewaretoken]").value = word.value;
    return Boolean(word);
  };

  let sending = null;
  let waiting = 0;
  const later = (pause) => { clearTimeout(waiting); waiting = setTimeout(send, pause); };

  const drop = (sent) => {
    const queue = read();
    Object.entries(sent).forEach(([name, entry]) => { if (queue[name] && queue[name].key === entry.key) delete queue[name]; });
    write(queue);
  };

  const sendOnce = async () => {
    const sent = read();
    const marks = Object.entries(sent).map(([name, entry]) => ({ name, ...entry }));
    if (!marks.length) return true;
    say("sending", `Keeping ${counted()} …`);
    let answer = await ask(marks);
    if (answer.status === 403 && await freshWord()) answer = await ask(marks);
    if (answer.status === 409 || answer.status === 422) {
      say("refused", (await answer.json()).refused);
      return false;
    }
    if (!answer.ok || answer.redirected) {
      say("waiting", `You are not signed in any more. ${counted()} wait on this device: sign in on another page, then they are sent.`);
      later(AGAIN_MS);
      return false;
    }
    show(await answer.json());
    drop(sent);
    if (Object.keys(read()).length) return sendOnce();
    say("kept", "Everything written is kept.");
    return true;
  };

  const send = () => {
    clearTimeout(waiting);
    sending = sending || sendOnce().catch(() => {
      say("waiting", `No connection: ${counted()} kept on this device, sent as soon as there is one.`);
      later(AGAIN_MS);
      return false;
    }).finally(() => { sending = null; });
    return sending;
  };

  form.addEventListener("input", (event) => { if (isOurs(event.target) && note(event.target)) later(PAUSE_MS); });
  form.addEventListener("change", (event) => { if (isOurs(event.target) && note(event.target)) later(50); });
  window.addEventListener("online", send);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });

  // Closing waits for what is still on its way; without a connection it waits for that too.
  form.addEventListener("submit", async (event) => {
    if (form.dataset.sure || !Object.keys(read()).length) return;
    event.preventDefault();
    event.stopPropagation();
    const button = event.submitter;
    if (!await send()) return;
    form.dataset.sure = "1";
    form.requestSubmit(button);
  });

  Object.entries(read()).forEach(([name, entry]) => put(name, entry.value));
  form.querySelectorAll("[data-plain]").forEach((part) => { part.hidden = true; });
  if (Object.keys(read()).length) send(); else say("kept", "Every field is kept as you write it.");
})();
