// How a rod is drawn, and in which order rods are told: by the rod's name alone, so that both are the
// same on every device, screen and day. `parts/RodMark.svelte` shows the mark beside a name.

import { look } from './look.svelte'
import { rodLook, type RodLook } from './words'

export const SHAPES = ['disc', 'square', 'up', 'diamond', 'down', 'plus', 'star', 'hexagon'] as const
export type Shape = (typeof SHAPES)[number]

const looks = new Map<string, RodLook>()

function looksLike(rod: string): RodLook {
  let found = looks.get(rod)
  if (!found) looks.set(rod, (found = rodLook(rod)))
  return found
}

/** The shape that stands for a rod. */
export function shapeOf(rod: string): Shape {
  const said = looksLike(rod).shape
  return SHAPES.find((each) => each === said) ?? 'disc'
}

/** The colour that stands for a rod, in the look of day or night: "#0a3d9e". */
export function colourOf(rod: string): string {
  return looksLike(rod)[look.now]
}

const SIDE: Record<string, number> = { port: -1, left: -1, starboard: 1, stbd: 1, right: 1 }
const FAR = /^(outer|outside|far|wide|long|boards?)$/
const NEAR = /^(inner|inside|near|short|down|deep)$/

// Where a rod stands, port to starboard: the outermost first and last.
function station(rod: string): number {
  const words = rod.toLowerCase().split(/[\s_-]+/)
  const side = words.map((word) => SIDE[word]).find((each) => each !== undefined) ?? 0
  return side * (words.some((word) => FAR.test(word)) ? 3 : words.some((word) => NEAR.test(word)) ? 1 : 2)
}

const LETTERS = new Intl.Collator('en', { numeric: true, sensitivity: 'base' })

/** Orders rods as they stand on the boat, from port to starboard: `[...rods].sort(byRod)`. */
export function byRod(a: string, b: string): number {
  return station(a) - station(b) || LETTERS.compare(a, b) || (a < b ? -1 : a > b ? 1 : 0)
}

// Corners of the shape on a circle of radius 1; a disc has none.
function ring(count: number, turn: number, inner = 1): [number, number][] {
  return Array.from({ length: count }, (_, i) => {
    const angle = turn + (2 * Math.PI * i) / count
    const r = i % 2 ? inner : 1
    return [r * Math.cos(angle), r * Math.sin(angle)]
  })
}

const A = 0.36
export const CORNERS: Record<Shape, [number, number][]> = {
  disc: [],
  square: [
    [-0.85, -0.85],
    [0.85, -0.85],
    [0.85, 0.85],
    [-0.85, 0.85],
  ],
  up: [
    [0, -1.05],
    [1.05, 0.85],
    [-1.05, 0.85],
  ],
  diamond: [
    [0, -1.2],
    [1.1, 0],
    [0, 1.2],
    [-1.1, 0],
  ],
  down: [
    [0, 1.05],
    [1.05, -0.85],
    [-1.05, -0.85],
  ],
  plus: [
    [-A, -1.1],
    [A, -1.1],
    [A, -A],
    [1.1, -A],
    [1.1, A],
    [A, A],
    [A, 1.1],
    [-A, 1.1],
    [-A, A],
    [-1.1, A],
    [-1.1, -A],
    [-A, -A],
  ],
  star: ring(10, -Math.PI / 2, 0.48).map(([x, y]) => [x * 1.25, y * 1.25]),
  hexagon: ring(6, 0),
}

export function svgPath(shape: Shape): string {
  const corners = CORNERS[shape]
  if (!corners.length) return 'M-0.95 0A0.95 0.95 0 1 1 0.95 0A0.95 0.95 0 1 1-0.95 0Z'
  return `M${corners.map(([x, y]) => `${x.toFixed(3)} ${y.toFixed(3)}`).join('L')}Z`
}

export function trace(c: CanvasRenderingContext2D, shape: Shape, x: number, y: number, r: number) {
  c.beginPath()
  const corners = CORNERS[shape]
  if (!corners.length) {
    c.arc(x, y, r * 0.95, 0, 2 * Math.PI)
    return
  }
  corners.forEach(([dx, dy], i) => {
    if (i) c.lineTo(x + dx * r, y + dy * r)
    else c.moveTo(x + dx * r, y + dy * r)
  })
  c.closePath()
}
