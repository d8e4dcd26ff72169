// Units of the trade and their metric equals (NIST Special Publication 811, appendix B).
import { fixed, rounded, short } from "./numbers";

export const GALLON_L = 3.785411784; // litres, US gallon
export const QUART_L = GALLON_L / 4; // litres
export const FLUID_OUNCE_L = GALLON_L / 128; // litres
export const POUND_KG = 0.45359237; // kg
export const OUNCE_KG = POUND_KG / 16; // kg
const PSI_KPA = 6.894757; // kPa
const MILE_M = 1609.344; // metres

const TO_KEPT: Record<string, (value: number) => number> = {
  "°F": (value) => (value - 32) / 1.8,
  psi: (value) => value * PSI_KPA,
  bar: (value) => value * 100,
  gpm: (value) => value * GALLON_L,
  "%": (value) => value / 100,
};

/** A value that was read in `unit`, in the unit its kind is kept in; four decimals, as kept. */
export function kept(value: number, unit: string): number {
  return rounded((TO_KEPT[unit] ?? Number)(value), 4);
}

/** A kept value in the unit that is offered for entering. */
export function shown(value: number, unit: string): number {
  if (unit === "°F") return value * 1.8 + 32;
  if (unit === "psi") return value / PSI_KPA;
  if (unit === "gpm") return value / GALLON_L;
  return unit === "%" ? value * 100 : value;
}

/** A kept reading as people of the country read it; `unit` is that of its kind. */
export function readingWords(value: number, unit: string, customary: boolean): string {
  if (customary && unit === "°C") return `${fixed(value * 1.8 + 32, 0)} °F`;
  if (customary && unit === "kPa") return `${fixed(value / PSI_KPA, 0)} psi`;
  if (customary && unit === "L/min") return `${fixed(value / GALLON_L, 0)} gpm`;
  if (unit === "share") return `${fixed(value * 100, 0)} %`;
  return `${fixed(value, value < 20 ? 1 : 0)} ${unit}`.trim();
}

/** A mass to carry; a decimal below ten, if it has one. */
export function mass(kg: number, customary: boolean): string {
  const value = customary ? kg / POUND_KG : kg;
  return `${rounded(value, 1) < 10 ? short(value) : fixed(value, 0)} ${customary ? "lb" : "kg"}`;
}

export function distance(metres: number, customary: boolean): string {
  return customary ? `${fixed(metres / MILE_M, 1)} mi` : `${fixed(metres / 1000, 1)} km`;
}

export interface Amount {
  value: number;
  unit: string;
}

/** A liquid in the unit on the jug. */
export function jug(litres: number, customary: boolean): Amount {
  if (!customary) return litres >= 1 ? { value: litres, unit: "l" } : { value: litres * 1000, unit: "ml" };
  if (litres < QUART_L) return { value: litres / FLUID_OUNCE_L, unit: "fl oz" };
  if (litres < GALLON_L) return { value: litres / QUART_L, unit: "qt" };
  return { value: litres / GALLON_L, unit: "gal" };
}

/** A solid in the unit on the bag. */
export function bag(kg: number, customary: boolean): Amount {
  if (!customary) return kg >= 1 ? { value: kg, unit: "kg" } : { value: kg * 1000, unit: "g" };
  return kg < POUND_KG ? { value: kg / OUNCE_KG, unit: "oz" } : { value: kg / POUND_KG, unit: "lb" };
}

export function told({ value, unit }: Amount): string {
  return `${fixed(value, 1)} ${unit}`;
}
