// How the page is shown: units, theme, and on a narrow screen which panel stands beside the map. Kept
// in the browser where it lets us.

import { byId } from "./element";
import { setUnitSystem, type UnitSystem } from "./units";

type Theme = "usual" | "sunlight";

const kept = (name: string): string | null => {
  try {
    return localStorage.getItem(name);
  } catch {
    return null;
  }
};

const keep = (name: string, value: string): void => {
  try {
    localStorage.setItem(name, value);
  } catch {
    // A browser that keeps nothing shows the usual things next time.
  }
};

export function display(units: UnitSystem): { flipUnits(): void; flipTheme(): void } {
  const unitChoice = byId<HTMLSelectElement>("units");
  const themeChoice = byId<HTMLSelectElement>("theme");
  const useUnits = (system: UnitSystem): void => {
    unitChoice.value = system;
    setUnitSystem(system);
  };
  const useTheme = (theme: Theme): void => {
    themeChoice.value = theme;
    document.documentElement.dataset.theme = theme;
  };
  // The program's --units rules until somebody switches on this page.
  useUnits(units);
  useTheme(kept("checkstrip-theme") === "sunlight" ? "sunlight" : "usual");
  unitChoice.addEventListener("change", () => useUnits(unitChoice.value as UnitSystem));
  themeChoice.addEventListener("change", () => {
    keep("checkstrip-theme", themeChoice.value);
    useTheme(themeChoice.value as Theme);
  });
  const panels = ["tools-panel", "result-panel"] as const;
  for (const panel of panels) {
    const button = document.querySelector<HTMLButtonElement>(`[aria-controls="${panel}"]`)!;
    button.addEventListener("click", () => {
      const open = button.getAttribute("aria-expanded") !== "true";
      for (const each of panels) {
        const other = document.querySelector<HTMLButtonElement>(`[aria-controls="${each}"]`)!;
        const shown = open && each === panel;
        other.setAttribute("aria-expanded", String(shown));
        byId(each).classList.toggle("open", shown);
      }
    });
  }
  const flip = (choice: HTMLSelectElement): void => {
    choice.selectedIndex = (choice.selectedIndex + 1) % choice.options.length;
    choice.dispatchEvent(new Event("change"));
  };
  return { flipUnits: () => flip(unitChoice), flipTheme: () => flip(themeChoice) };
}
