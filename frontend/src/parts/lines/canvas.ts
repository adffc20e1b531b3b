// What the picture's painters share: its colours, its letters and the way from metres to its points.
import { CORNERS, trace, type Shape } from '../../lib/rods'
import type { Scene } from './blend'
import type { Placed } from './labels'
import { pxAlong, pxDeep, type Frame, type Span } from './scale'
import type { Sheets } from './sheets'

export interface Look {
  sky: string
  water: string
  ground: string
  doubt: string
  edge: string
  ink: string
  faint: string
  paper: string
  warn: string
}

// Custom properties by which the look comes in from the style sheet.
export function lookOf(element: Element): Look {
  const style = getComputedStyle(element)
  const get = (name: string) => style.getPropertyValue(`--run-${name}`).trim() || '#000'
  return {
    sky: get('sky'),
    water: get('water'),
    ground: get('ground'),
    doubt: get('doubt'),
    edge: get('edge'),
    ink: get('ink'),
    faint: get('faint'),
    paper: get('paper'),
    warn: get('warn'),
  }
}

export interface Warned {
  rod: string
  seconds: number // from now
  sure: boolean
}

export interface Painting {
  scene: Scene
  span: Span
  frame: Frame
  look: Look
  keepClear: number
  warned: readonly Warned[]
  labels: ReadonlyMap<string, Placed>
  grid: { x0: number; step: number }
  sheets: Sheets
}

/** From metres to a point of the picture. */
export type Way = (metres: number) => number

/** Along the water, metres from the boat, and down, metres below the surface. */
export function ways(span: Span, frame: Frame): { X: Way; Z: Way } {
  const sx = pxAlong(span, frame)
  const sz = pxDeep(span, frame)
  return { X: (m) => (m - span.left) * sx, Z: (m) => frame.sky + m * sz }
}

const FONT = 'system-ui, sans-serif'
export const BIG = `700 15px ${FONT}`
export const SMALL = `600 14px ${FONT}`
export const AXIS = `600 13px ${FONT}`

const widths = new Map<string, number>()

export function widthOf(c: CanvasRenderingContext2D, text: string, font: string): number {
  const key = font + text
  let w = widths.get(key)
  if (w === undefined) {
    if (widths.size > 500) widths.clear()
    c.font = font
    w = c.measureText(text).width
    widths.set(key, w)
  }
  return w
}

// A lure's own mark, edged so that it shows on water and ground.
export function mark(
  c: CanvasRenderingContext2D,
  look: Look,
  shape: Shape,
  x: number,
  y: number,
  tone: string,
): void {
  trace(c, shape, x, y, 8.5)
  c.lineJoin = CORNERS[shape].length ? 'miter' : 'round'
  c.lineWidth = 4
  c.strokeStyle = look.paper
  c.stroke()
  c.fillStyle = tone
  c.fill()
  c.lineWidth = 1.25
  c.strokeStyle = look.ink
  c.stroke()
}
