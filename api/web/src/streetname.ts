// Street names along streets, slightly bent ones too: a name lies on the chord of the straightest
// stretch that is long enough for it.
import Point from "@mapbox/point-geometry";
import type { Feature, Label, LabelSymbolizer, Layout } from "protomaps-leaflet";

interface At {
  x: number;
  y: number;
}

interface Spot {
  from: At;
  to: At;
  bend: number; // how far the street leaves the chord, pixels
}

type Shape = Parameters<LabelSymbolizer["place"]>[1];

const STEP = 10; // pixels between two tries along a street
const FONT = '"Segoe UI", Roboto, "Noto Sans", "Liberation Sans", Arial, sans-serif';

export interface NameLook {
  fill: string;
  halo: string;
  size: number; // pixels
  repeat: number; // pixels between two labels of one street
  italic?: boolean;
}

export class StreetName implements LabelSymbolizer {
  constructor(private readonly look: NameLook) {}

  place(layout: Layout, geom: Shape, feature: Feature): Label[] | undefined {
    const name = feature.props["name"];
    if (typeof name !== "string" || name === "") return undefined;
    const font = `${this.look.italic ? "italic " : ""}${this.look.size}px ${FONT}`;
    layout.scratch.font = font;
    const width = layout.scratch.measureText(name).width;
    const labels = geom
      .flatMap((line) => spotsOn(line, width, this.look))
      .map((spot) => this.label(name, font, width, spot));
    return labels.length > 0 ? labels : undefined;
  }

  private label(name: string, font: string, width: number, { from, to }: Spot): Label {
    const { fill, halo, size, repeat } = this.look;
    const [left, right] = from.x <= to.x ? [from, to] : [to, from];
    return {
      anchor: new Point(left.x, left.y),
      bboxes: boxesAlong(left, right, size * 0.7),
      deduplicationKey: name,
      deduplicationDistance: repeat,
      draw: (ctx) => {
        ctx.globalAlpha = 1;
        ctx.rotate(Math.atan2(right.y - left.y, right.x - left.x));
        ctx.font = font;
        ctx.textBaseline = "middle";
        ctx.lineJoin = "round";
        ctx.lineWidth = 3;
        ctx.strokeStyle = halo;
        ctx.strokeText(name, 0, 0, width);
        ctx.fillStyle = fill;
        ctx.fillText(name, 0, 0, width);
      },
    };
  }
}

/** The straightest spot of each stretch of `repeat` pixels, where one is straight enough. */
function spotsOn(line: At[], width: number, look: NameLook): Spot[] {
  const along = distances(line);
  const last = (along[along.length - 1] ?? 0) - width - look.size / 2;
  const found: Spot[] = [];
  for (let begin = look.size / 2; begin <= last; begin += look.repeat) {
    let best: Spot | undefined;
    for (let at = begin; at <= Math.min(last, begin + look.repeat); at += STEP) {
      const spot = spotAt(line, along, at, at + width);
      if (!best || spot.bend < best.bend) best = spot;
    }
    if (best && best.bend <= look.size * 0.4) found.push(best);
  }
  return found;
}

function distances(line: At[]): number[] {
  let sum = 0;
  return line.map((at, n) => {
    const before = line[n - 1] ?? at;
    sum += Math.hypot(at.x - before.x, at.y - before.y);
    return sum;
  });
}

function spotAt(line: At[], along: number[], begin: number, end: number): Spot {
  const from = pointAt(line, along, begin);
  const to = pointAt(line, along, end);
  const chord = Math.hypot(to.x - from.x, to.y - from.y);
  let bend = end - begin - chord; // a hairpin has a short chord, whatever lies beside it
  for (let n = 0; n < line.length; n++) {
    const at = line[n]!;
    if (along[n]! <= begin || along[n]! >= end) continue;
    const cross = (to.x - from.x) * (from.y - at.y) - (from.x - at.x) * (to.y - from.y);
    bend = Math.max(bend, Math.abs(cross) / (chord || 1));
  }
  return { from, to, bend };
}

function pointAt(line: At[], along: number[], distance: number): At {
  const n = Math.max(1, along.findIndex((sum) => sum >= distance));
  const [a, b] = [line[n - 1]!, line[n]!];
  const share = (distance - along[n - 1]!) / (along[n]! - along[n - 1]! || 1);
  return { x: a.x + (b.x - a.x) * share, y: a.y + (b.y - a.y) * share };
}

function boxesAlong(from: At, to: At, half: number): Label["bboxes"] {
  const pieces = Math.max(1, Math.ceil(Math.hypot(to.x - from.x, to.y - from.y) / (2 * half)));
  return Array.from({ length: pieces + 1 }, (_, n) => {
    const x = from.x + ((to.x - from.x) * n) / pieces;
    const y = from.y + ((to.y - from.y) * n) / pieces;
    return { minX: x - half, minY: y - half, maxX: x + half, maxY: y + half };
  });
}
