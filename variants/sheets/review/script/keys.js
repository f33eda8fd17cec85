// The keyboard. Keys that a focused control uses itself are left to it.

const OWN_KEYS = "button, a, summary";
const TYPED_INTO = "input, select, textarea";

function keysFor(desk) {
  const flip = (id) => {
    byId(id).checked = !byId(id).checked;
    byId(id).dispatchEvent(new Event("change"));
  };
  const speed = (by) => desk.setSpeed(Number(byId("speed").value) + by);
  return {
    " ": () => desk.toggle(),
    Home: () => desk.go(0),
    ArrowLeft: () => desk.go(desk.step - 1),
    ArrowRight: () => desk.go(desk.step + 1),
    "-": () => speed(-5),
    "+": () => speed(5),
    "=": () => speed(5),
    "[": () => desk.loopFrom("from"),
    "]": () => desk.loopFrom("to"),
    l: () => flip("loop"),
    m: () => flip("metronome"),
    c: () => flip("count-in"),
    d: () => desk.turnTheme(),
    "?": () => byId("keys").showModal(),
  };
}

function listenToKeys(desk) {
  const keys = keysFor(desk);
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || byId("keys").open) return;
    if (!byId("use-keys").checked) return;
    const { target, key } = event;
    const name = key.length === 1 ? key.toLowerCase() : key;
    const isLetter = /^[a-z0-9?]$/.test(name);
    if (target.matches(TYPED_INTO) && (target.matches("select") || !isLetter)) return;
    if (target.matches(OWN_KEYS) && (name === " " || name === "Enter")) return;
    const number = Number(name);
    if (number >= 1 && number <= 9) desk.hear(number - 1);
    else if (keys[name]) keys[name]();
    else return;
    event.preventDefault();
  });
}
