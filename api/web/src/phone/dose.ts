// Doses by mass balance and by the closed balance of carbonate, as the service computes them:
// dispatch/water/dosing.py, ph_step.py, alkalinity.py and dilution.py; a test holds both together.
import { fixed, general } from "./numbers";
import type { Product, Rules } from "./types";
import { bag, jug, POUND_KG, told } from "./units";
import type { Amount } from "./units";
import { _, counted } from "../words";

export interface Answer {
  title: string;
  text: string;
  notes: string[];
  cautions: string[];
  /** Whether the figure is the first half already. */
  half: boolean;
}

const PPM_KG_PER_L = 1e-6; // kg in one litre for 1 mg/L
const CACO3_EQUIVALENT_G = 50.04; // g per equivalent
const CYANURIC_MOLAR_G = 129.07; // g/mol
const CYANURIC_PK = 6.83;
const BORON_MOLAR_G = 10.81; // g/mol
const BORATE_PK = 9.02;
const CARBONIC_PK1 = 6.32;
const CARBONIC_PK2 = 10.2;
const HCL_MOLAR_G = 36.461; // g/mol
const SODA_ASH_MOLAR_G = 105.99; // g/mol
const MOST_ACID = 1 / 40_000; // share of the pool's volume at a time: 1 quart in 10,000 gal
const LOW_PH = 6.5; // beyond these two the balance is not trusted
const HIGH_PH = 8.6;

/** How much of a product moves its reading by `change` ppm in so many litres. */
export function dose(product: Product, volumeL: number, change: number, rules: Rules, customary: boolean): Answer {
  const pure = volumeL * change * PPM_KG_PER_L * product.per_ppm;
  const notes: string[] = [];
  let amount: Amount;
  if (product.pure_kg_per_l !== null) {
    const litres = pure / product.pure_kg_per_l;
    amount = jug(litres, customary);
    notes.push(_("The same is {litres}.", { litres: told(jug(litres, !customary)) }));
  } else {
    const kg = pure / (product.strength / 100);
    amount = bag(kg, customary);
    notes.push(_("The same is {kg}.", { kg: told(bag(kg, !customary)) }));
    if (product.bag_kg !== null && kg > product.bag_kg / 2) notes.push(bagsNote(kg, product.bag_kg, customary));
  }
  for (const [name, share] of product.besides) {
    notes.push(_("Raises {name} by about {share} ppm too.", { name, share: fixed(share * change, 1) }));
  }
  return {
    title: (product.raises ? _("{title} to raise {effect}", { title: product.title, effect: product.effect_title }) : _("{title} to lower {effect}", { title: product.title, effect: product.effect_title })),
    text: told(amount),
    notes,
    cautions: [rules.general_caution, ...product.cautions],
    half: false,
  };
}

function bagsNote(kg: number, bagKg: number, customary: boolean): string {
  const bags = Math.max(1, Math.ceil(kg / bagKg - 1e-9));
  const over = told(bag(Math.max(0, bags * bagKg - kg), customary));
  const size = customary ? `${fixed(bagKg / POUND_KG, 0)} lb` : `${fixed(bagKg, 1)} kg`;
  return counted("{n} bag of {size}: {over} more than computed.", "{n} bags of {size}: {over} more than computed.", bags, { size, over });
}

export interface Buffers {
  alkalinity: number;
  cya: number;
  borate: number;
}

/** Carbonate alkalinity, ppm as CaCO3: what a test counts less cyanurate and borate. */
export function carbonate({ alkalinity, cya, borate }: Buffers, ph: number): number {
  const cyanurate = (CACO3_EQUIVALENT_G / CYANURIC_MOLAR_G / (1 + 10 ** (CYANURIC_PK - ph))) * cya;
  const borates = (CACO3_EQUIVALENT_G / BORON_MOLAR_G / (1 + 10 ** (BORATE_PK - ph))) * borate;
  return Math.max(0, alkalinity - (cyanurate + borates));
}

/** Half of the acid or soda ash for a step of pH, or the sentence that says why there is none. */
export function phStep(buffers: Buffers, ph: number, target: number, volumeL: number, rules: Rules, customary: boolean): Answer | string {
  if (buffers.alkalinity <= 0) {
    return (
      _("Water with an alkalinity of {alkalinity} ppm has nothing that holds its pH: raise the alkalinity first, or test again.", { alkalinity: general(buffers.alkalinity) })
    );
  }
  if (!(ph >= LOW_PH && ph <= HIGH_PH && target >= LOW_PH && target <= HIGH_PH) || ph === target) {
    return (
      _("A step of pH from {ph} to {target} cannot be estimated: between {low} and {high} only; outside, use an acid or base demand test.", { ph: general(ph), target: general(target), low: general(LOW_PH), high: general(HIGH_PH) })
    );
  }
  const carbon = carbonMmol(buffers, ph);
  if (carbon === null) {
    return (
      _("Cyanuric acid and borate make up the whole alkalinity, so the step cannot be estimated: test again, or raise the alkalinity first.")
    );
  }
  const lower = target < ph;
  const product = rules.products[lower ? "muriatic-acid" : "soda-ash"] as Product;
  const acidL = (part: number): number => (acidMeq(buffers, carbon, ph, target) * HCL_MOLAR_G * volumeL * part * 1e-6) / (product.pure_kg_per_l ?? 1);
  const amount = (part: number): Amount =>
    lower
      ? jug(acidL(part), customary)
      : bag(sodaMmol(buffers, carbon, ph, target) * SODA_ASH_MOLAR_G * volumeL * part * 1e-6, customary);
  return {
    title: _("{title} for pH, the first half", { title: product.title }),
    text: told(amount(0.5)),
    notes: [
      _("The estimate for the whole step is {amount}; it is not exact. Add the half, circulate, test again, then decide on the rest.", { amount: told(amount(1)) }),
      ...(lower && acidL(0.5) > volumeL * MOST_ACID
        ? [_("The half is not for one time either: at most {most} in this pool (common practice), then circulate and test again.", { most: told(jug(volumeL * MOST_ACID, customary)) })]
        : []),
    ],
    cautions: [rules.general_caution, ...product.cautions],
    half: true,
  };
}

function otherMeq({ cya, borate }: Buffers, ph: number): number {
  const cyanurate = cya / CYANURIC_MOLAR_G / (1 + 10 ** (CYANURIC_PK - ph));
  return cyanurate + borate / BORON_MOLAR_G / (1 + 10 ** (BORATE_PK - ph));
}

function charge(ph: number): number {
  const acid = 10 ** (CARBONIC_PK1 - ph);
  const base = 10 ** (ph - CARBONIC_PK2);
  return (1 + 2 * base) / (acid + 1 + base);
}

function carbonMmol(buffers: Buffers, ph: number): number | null {
  const carbonates = buffers.alkalinity / CACO3_EQUIVALENT_G - otherMeq(buffers, ph);
  return carbonates <= 0 ? null : carbonates / charge(ph);
}

function acidMeq(buffers: Buffers, carbon: number, ph: number, target: number): number {
  return carbon * (charge(ph) - charge(target)) + otherMeq(buffers, ph) - otherMeq(buffers, target);
}

function sodaMmol(buffers: Buffers, carbon: number, ph: number, target: number): number {
  const need = carbon * (charge(target) - charge(ph)) + otherMeq(buffers, target);
  return (need - otherMeq(buffers, ph)) / (2 - charge(target));
}

/** Share of the water to replace for a reading that nothing else brings down. */
export function toReplace(title: string, now: number, target: number, volumeL: number, rules: Rules): Answer {
  const share = (now - target) / now;
  return {
    title: _("Water to replace for {title}", { title }),
    text: _("{share} % of the pool", { share: fixed(share * 100, 1) }),
    notes: [_("That is about {litres} l. No product takes it out; several small drains take more water than one.", { litres: fixed(share * volumeL, 0) })],
    cautions: [rules.general_caution, rules.drain_caution],
    half: false,
  };
}
