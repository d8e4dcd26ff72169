// Where pins may stand so that each can be read: near ones of one route share a pin, and pins of
// different routes move apart. Everything here is in pixels and knows no map.

export interface Box {
  x: number; // middle, where the pin belongs
  y: number;
  width: number;
  height: number;
  fixed: boolean; // others make way for it
}

export interface Area {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

interface At {
  x: number;
  y: number;
}

const GAP = 2; // pixels left between two pins
const PASSES = 80; // more move nothing that can still be seen
const FARTHEST = 90; // pixels from where a pin belongs; beyond it would point nowhere

/** Groups of those within `near` pixels of the group's first, in their order. */
export function together<Item extends At>(items: Item[], near: number): Item[][] {
  const groups: Item[][] = [];
  for (const item of items) {
    const home = groups.find(([first]) => first && Math.hypot(first.x - item.x, first.y - item.y) <= near);
    if (home) home.push(item);
    else groups.push([item]);
  }
  return groups;
}

/** Numbers with runs drawn together: 1, 2, 3, 7 of M is 'M1–M3, M7'; beyond three runs '+2'. */
export function runs(letters: string, numbers: number[]): string {
  const found: [number, number][] = [];
  for (const number of [...numbers].sort((a, b) => a - b)) {
    const last = found[found.length - 1];
    if (last && number === last[1] + 1) last[1] = number;
    else found.push([number, number]);
  }
  const shown = found.slice(0, 3).map(([a, b]) => (a === b ? `${letters}${a}` : `${letters}${a}–${letters}${b}`));
  const hidden = found.slice(3).reduce((sum, [a, b]) => sum + b - a + 1, 0);
  return shown.join(", ") + (hidden ? ` +${hidden}` : "");
}

/** Places for the boxes: pairs that overlap push each other apart, inside the area, until none does. */
export function spread(boxes: Box[], area: Area): At[] {
  const at = boxes.map(({ x, y }) => ({ x, y }));
  for (let pass = 0; pass < PASSES; pass++) {
    let moved = false;
    for (let i = 0; i < boxes.length; i++) {
      for (let j = i + 1; j < boxes.length; j++) {
        moved = part(boxes[i]!, boxes[j]!, at[i]!, at[j]!, area) || moved;
      }
    }
    if (!moved) break;
  }
  return at;
}

/** Push two boxes apart the shorter way; says whether they overlapped. */
function part(a: Box, b: Box, atA: At, atB: At, area: Area): boolean {
  const byX = (a.width + b.width) / 2 + GAP - Math.abs(atB.x - atA.x);
  const byY = (a.height + b.height) / 2 + GAP - Math.abs(atB.y - atA.y);
  if (byX <= 0.01 || byY <= 0.01 || (a.fixed && b.fixed)) return false;
  const axis = byX < byY ? "x" : "y";
  const way = Math.min(byX, byY) * (atB[axis] < atA[axis] ? -1 : 1); // of b, away from a
  const share = a.fixed ? 0 : b.fixed ? 1 : 0.5;
  move(a, atA, axis, -way * share, area);
  move(b, atB, axis, way * (1 - share), area);
  return true;
}

function move(box: Box, at: At, axis: "x" | "y", by: number, area: Area): void {
  const home = box[axis];
  const half = (axis === "x" ? box.width : box.height) / 2;
  // what belongs outside the area may stay there, and what belongs inside is kept in sight
  const least = Math.min(home, (axis === "x" ? area.left : area.top) + half);
  const most = Math.max(home, (axis === "x" ? area.right : area.bottom) - half);
  at[axis] = Math.max(least, home - FARTHEST, Math.min(most, home + FARTHEST, at[axis] + by));
}
