// Arrow up and down go from row to row in the same column of a grid.
import { below, goTo } from "./fields.js";

export function startGrid() {
  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "ArrowUp" && event.key !== "ArrowDown") return;
    if (!(field instanceof HTMLInputElement) || !field.closest("[data-grid]") || field.matches("[type=radio], [type=number]")) return;
    const next = below(field, event.key === "ArrowDown" ? 1 : -1);
    if (!next) return;
    event.preventDefault();
    goTo(next);
  });
}
