// Looks at a number while it is being entered. It only asks; what is allowed is decided where it is saved.
const A_W_AS_TYPED = /^(0?[.,]\d{1,6}|[01]([.,]\d{0,6})?)$/;
const NUMBER = /^[+-]?(\d+([.,]\d*)?|[.,]\d+)$/;

const MASKS = {
  a_w(text) {
    if (/%$/.test(text)) return { stop: true, words: `Read ${text}. a_w is a fraction, such as 0.652; was ERH in percent meant?` };
    if (!NUMBER.test(text)) return { stop: true, words: `Read ${text}. Allowed: a number such as 0.652.` };
    const value = Number(text.replace(",", "."));
    if (/^\d{3,4}$/.test(text)) return { stop: true, words: `Read ${text}. Is 0.${text} meant? Type it with its point.` };
    if (value > 1 && value <= 100) return { stop: true, words: `Read ${text}. a_w is a fraction, such as 0.652; was ERH in percent meant?` };
    if (!A_W_AS_TYPED.test(text) || value <= 0 || value > 1) return { stop: true, words: `Read ${text}. Allowed: more than 0 and at most 1.` };
    if (/^[.,]/.test(text)) return { stop: false, words: `Read as 0${text.replace(",", ".")}.` };
    return null;
  },
  temperature(text) {
    if (!NUMBER.test(text)) return { stop: true, words: `Read ${text}. Allowed: degrees Celsius, such as 25.0, without a unit.` };
    const value = Number(text.replace(",", "."));
    if (value > 150 && value < 423) return { stop: true, words: `Read ${text}. Degrees Celsius are wanted; was kelvin meant?` };
    if (value > 60 && value < 120) return { stop: false, words: `Read ${text} °C. Degrees Celsius, or was Fahrenheit meant?` };
    return null;
  },
  mass(text) {
    return NUMBER.test(text) && !text.startsWith("-") ? null : { stop: true, words: `Read ${text}. Allowed: a mass in grams, such as 5.1234.` };
  },
  time(text) {
    return /^([01]?\d|2[0-3]):[0-5]\d$/.test(text) ? null : { stop: true, words: `Read ${text}. Allowed: hours and minutes, such as 14:05.` };
  },
};

// Whether a field holds something that cannot stay as it is; the question then stands at the field.
export function asks(field) {
  const mask = MASKS[field.dataset.mask];
  const text = field.value.trim();
  const found = mask && text ? mask(text) : null;
  if (mask) show(field, found);
  return Boolean(found?.stop);
}

function show(field, found) {
  const place = document.getElementById(`${field.id}-error`);
  if (!place) return;
  // what the server said stays until the field is changed
  if (!found && field.value === field.defaultValue && place.textContent.trim() && !place.dataset.mask) return;
  place.querySelector(".error-words").textContent = found?.words ?? "";
  place.dataset.mask = "yes";
  place.hidden = !found;
  place.classList.toggle("asks", Boolean(found && !found.stop));
  field.closest(".field, .cell")?.classList.toggle("has-error", Boolean(found?.stop));
  if (found?.stop) field.setAttribute("aria-invalid", "true");
  else field.removeAttribute("aria-invalid");
}

export function startMasks() {
  document.addEventListener("change", (event) => {
    if (event.target instanceof HTMLInputElement && event.target.dataset.mask) asks(event.target);
  });
  document.addEventListener("submit", (event) => {
    const stopped = [...event.target.elements].find((field) => field.dataset.mask && asks(field));
    if (!stopped) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    stopped.focus();
  }, true);
}
