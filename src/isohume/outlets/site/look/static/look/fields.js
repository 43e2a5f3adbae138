// What is a field, and which field comes next.
const FIELDS = "input:not([type=hidden], [type=submit], [type=button]), select, textarea";

export function isTyping(element) {
  return element instanceof HTMLElement && (element.matches("textarea, select, [contenteditable]") ||
    (element.matches("input") && !element.matches("[type=checkbox], [type=radio], [type=button], [type=submit]")));
}

export function isChanged(field) {
  if (field.matches("select")) {
    const start = [...field.options].find((option) => option.defaultSelected) ?? field.options[0];
    return field.value !== (start?.value ?? "");
  }
  if (field.matches("[type=checkbox], [type=radio]")) return field.checked !== field.defaultChecked;
  return field.value !== field.defaultValue;
}

// What stands in a closed part of the page has a place in it and yet is not shown: only checkVisibility knows.
export function fieldsOf(container) {
  return [...container.querySelectorAll(FIELDS)].filter((field) =>
    !field.disabled && !field.readOnly && field.checkVisibility() &&
    // of a group of radios only one is a stop: the chosen one, or the first
    (field.type !== "radio" || field === (container.querySelector(`[name="${CSS.escape(field.name)}"]:checked`) ??
      container.querySelector(`[name="${CSS.escape(field.name)}"]`))));
}

export function goTo(field) {
  field.focus();
  if (field.matches("input") && isTyping(field) && field.select) field.select();
}

// Where a row begins: its first empty field. A refused row begins anew, and never in the field that asks why not to heed.
export function startOf(row) {
  const fields = fieldsOf(row);
  return row.hasAttribute("data-refused") ? fields[0] : (fields.find((field) => !field.value) ?? fields[0]);
}

export function put(field, text) {
  field.value = text;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  field.dispatchEvent(new Event("change", { bubbles: true }));
}

// From a field to the next one of its form; from the last one the form is sent. False where nothing goes on.
export function goOn(field) {
  const container = field.closest("[data-enter]");
  if (!container) return false;
  const fields = fieldsOf(container);
  const next = container.dataset.enter === "down" ? below(field) : fields[fields.indexOf(field) + 1];
  if (next) goTo(next);
  else (field.form ?? container.closest("form"))?.requestSubmit();
  return true;
}

// The field in the same column of the next row (or of the row before).
export function below(field, step = 1) {
  const cell = field.closest("td, th");
  let row = cell?.parentElement;
  while ((row = step > 0 ? row?.nextElementSibling : row?.previousElementSibling)) {
    const found = row.cells?.[cell.cellIndex] && fieldsOf(row.cells[cell.cellIndex])[0];
    if (found) return found;
  }
  return null;
}

export function say(words) {
  const place = document.getElementById("say");
  if (place) place.textContent = words;
}
