// Draws the icons that a phone puts on its home screen: the mark as PNG, computed pixel by pixel,
// so that no picture lies in the repository. Run as `node icons.mjs FOLDER`.
import { writeFileSync } from "node:fs";
import { crc32, deflateSync } from "node:zlib";

const SIZES = [192, 512]; // pixels; those that installing asks for (W3C Web Application Manifest)
const GROUND = [13, 74, 92];
const WAVE = [143, 211, 224];
const WHITE = [255, 255, 255];
const FINE = 3; // samples along each side of a pixel, for smooth edges
const SAFE = 0.86; // share of the icon that the mark keeps to: a phone may cut corners or a circle

/** Distance from a point to the piece from one point to another. */
function toPiece(x, y, [ax, ay], [bx, by]) {
  const [dx, dy] = [bx - ax, by - ay];
  const along = Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy)));
  return Math.hypot(x - ax - along * dx, y - ay - along * dy);
}

/** Colour at a place of the mark, whose side is 32. */
function colour(x, y) {
  const dots = [[7, 13], [16, 13], [25, 7]];
  if (dots.some(([cx, cy]) => Math.hypot(x - cx, y - cy) <= 3)) return WHITE;
  if (Math.min(toPiece(x, y, dots[0], dots[1]), toPiece(x, y, dots[1], dots[2])) <= 1.25) return WHITE;
  const inside = Math.max(6, Math.min(26, x)); // round ends
  const wave = 22 - 1.95 * Math.sin(((inside - 6) / 10) * Math.PI);
  return Math.hypot(x - inside, y - wave) <= 1.6 ? WAVE : GROUND;
}

function pixel(column, row, size) {
  const sum = [0, 0, 0];
  for (let i = 0; i < FINE * FINE; i += 1) {
    const at = (place, fine) => (((place + (fine + 0.5) / FINE) / size - 0.5) / SAFE + 0.5) * 32;
    const found = colour(at(column, i % FINE), at(row, Math.floor(i / FINE)));
    for (const part of [0, 1, 2]) sum[part] += found[part];
  }
  return sum.map((part) => Math.round(part / (FINE * FINE)));
}

/** A chunk of a PNG (W3C PNG, third edition, section 5.3). */
function chunk(name, data) {
  const body = Buffer.concat([Buffer.from(name, "ascii"), data]);
  const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  check.writeUInt32BE(crc32(body));
  return Buffer.concat([length, body, check]);
}

function png(size) {
  const rows = Buffer.alloc(size * (1 + size * 3));
  for (let row = 0; row < size; row += 1) {
    for (let column = 0; column < size; column += 1) {
      rows.set(pixel(column, row, size), row * (1 + size * 3) + 1 + column * 3);
    }
  }
  const head = Buffer.alloc(13);
  head.writeUInt32BE(size, 0);
  head.writeUInt32BE(size, 4);
  head.set([8, 2], 8); // 8 bits, red green blue
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  return Buffer.concat([signature, chunk("IHDR", head), chunk("IDAT", deflateSync(rows)), chunk("IEND", Buffer.alloc(0))]);
}

for (const size of SIZES) writeFileSync(`${process.argv[2]}/phone-${size}.png`, png(size));
