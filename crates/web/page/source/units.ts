// Farm or SI units, as the switch says: how figures are shown and how typed ones are read. The page
// converts units and rounds; it computes no yield.

import type { Quantity, Shown } from "./wire";

export type UnitSystem = "farm" | "si";

/** International foot; the program's `units` has the same. */
const METRES_A_FOOT = 0.3048;
const SQUARE_METRES_AN_ACRE = 43560 * METRES_A_FOOT ** 2;
const ACRES_A_HECTARE = 10000 / SQUARE_METRES_AN_ACRE;

/** What stands where a figure is not known. */
export const UNKNOWN = "–";

let system: UnitSystem = "farm";
const listeners: (() => void)[] = [];

export const unitSystem = (): UnitSystem => system;

export function setUnitSystem(chosen: UnitSystem): void {
  system = chosen;
  for (const listener of listeners) listener();
}

/** Calls `listener` whenever units are switched. */
export function onUnits(listener: () => void): void {
  listeners.push(listener);
}

const farm = (): boolean => system === "farm";

/** A number with so many decimals, thousands apart, and a true minus. */
export function figure(value: number | null | undefined, decimals: number): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return UNKNOWN;
  const text = Math.abs(value).toLocaleString("en-US", {
    minimumFractionDigits: decimals,
    maximumFractionDigits: decimals,
  });
  return value < 0 && /[1-9]/.test(text) ? `−${text}` : text;
}

/** The same with its sign always there, for differences. */
export function signed(value: number | null | undefined, decimals: number): string {
  const text = figure(value, decimals);
  return text === UNKNOWN || text.startsWith("−") || !/[1-9]/.test(text) ? text : `+${text}`;
}

export const lengthUnit = (): string => (farm() ? "ft" : "m");
export const shownLength = (metres: number): number => (farm() ? metres / METRES_A_FOOT : metres);
export const metresOf = (shown: number): number => (farm() ? shown * METRES_A_FOOT : shown);
export const lengthText = (metres: number): string => `${figure(shownLength(metres), 1)} ${lengthUnit()}`;

export const areaUnit = (): string => (farm() ? "ac" : "ha");
export const areaWord = (): string => (farm() ? "acre" : "hectare");
export const shownArea = (squareMetres: number): number =>
  farm() ? squareMetres / SQUARE_METRES_AN_ACRE : squareMetres / 10000;

export const yieldUnit = (): string => (farm() ? "bu/ac" : "kg/ha");
export const yieldDecimals = (): number => (farm() ? 1 : 0);
/** Whichever of the program's two figures is wanted. */
export const eitherYield = <T>(kgHa: T, buAc: T): T => (farm() ? buAc : kgHa);

/** Money an acre, as the program has it, shown per acre or per hectare. */
export const moneyPerArea = (perAcre: number | null | undefined): string =>
  perAcre === null || perAcre === undefined || !Number.isFinite(perAcre)
    ? UNKNOWN
    : `${perAcre < 0 ? "−" : ""}$${figure(Math.abs(farm() ? perAcre : perAcre * ACRES_A_HECTARE), 2)}`;

/** A value of a quantity with its unit; thousands need no decimals. */
export function shownValue(quantity: Quantity, value: number): string {
  const shown = value * factorOf(quantity);
  const large = Math.abs((quantity.high ?? 0) * factorOf(quantity)) >= 1000;
  return figure(shown, large ? 0 : quantity.decimals);
}

export const unitOf = (shown: Shown): string => (farm() ? shown.unit_farm : shown.unit_si);
export const factorOf = (shown: Shown): number => (farm() ? shown.factor_farm : shown.factor_si);

/** As many decimals as a typed number needs, and no more: for inputs. */
export const typed = (value: number, decimals = 2): string => String(Number(value.toFixed(decimals)));
