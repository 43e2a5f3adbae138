// Enter goes to the next field of a form with data-enter and sends it on the last; a number that asks stays.
import { asks } from "./masks.js";
import { goOn, isTyping } from "./fields.js";

export function startEnter() {
  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter" || event.defaultPrevented || event.isComposing || event.ctrlKey || event.altKey || event.metaKey) return;
    if (!(field instanceof HTMLElement) || !field.matches("input, select") || field.matches("[type=file], [type=submit], [type=button]")) return;
    if (!field.closest("[data-enter]")) return;
    event.preventDefault();
    if (isTyping(field) && asks(field)) return;
    goOn(field);
  });
}
