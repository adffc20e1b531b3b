// The water from the side, on a canvas.

import type { Drawn, Scene } from './blend'
import { place, type Placed, type Tag } from './labels'
import { pxAlong, pxDeep, stretch, ticks, type Frame, type Span } from './scale'
import { colourOf, CORNERS, shapeOf, trace, type Shape } from '../../lib/rods'
import { onBottom } from './words'
import { convert, figure, label, show, toSi } from '../../lib/units'

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

const FONT = 'system-ui, sans-serif'
const BIG = `700 15px ${FONT}`
const SMALL = `600 14px ${FONT}`
const AXIS = `600 13px ${FONT}`

export const LABEL_H = 38
export const LABEL_H_SHORT = 22

// What the label of a lure says, in one or two rows.
export function labelRows(line: Drawn, short: boolean): [string, string] {
  const depth = show(line.now.depth_m, 'length')
  if (short) return [`${line.rod} ${depth}`, '']
  const off = line.now.off_bottom_m
  if (off === null || off === undefined) return [line.rod, depth]
  return [line.rod, onBottom(line.now) ? `${depth}, on bottom` : `${depth}, ${figure(off, 'length')} off`]
}

const widths = new Map<string, number>()

function widthOf(c: CanvasRenderingContext2D, text: string, font: string): number {
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

// Where labels stand; worked out once for each picture, not for each frame.
export function labelsFor(
  c: CanvasRenderingContext2D,
  lines: Drawn[],
  span: Span,
  frame: Frame,
  before: ReadonlyMap<string, Placed>,
  warned: readonly Warned[],
): Map<string, Placed> {
  const short = isShort(lines, frame)
  const sx = pxAlong(span, frame)
  const sz = pxDeep(span, frame)
  const tags: Tag[] = lines.map((line) => {
    const [one, two] = labelRows(line, short)
    return {
      key: line.rod,
      x: (line.x - span.left) * sx,
      y: frame.sky + line.z * sz,
      w: labelWidth(c, one, two),
      h: short ? LABEL_H_SHORT : LABEL_H,
    }
  })
  const area = {
    left: 2,
    right: frame.width - 2,
    top: frame.sky + 2,
    bottom: frame.height - frame.foot - 2,
  }
  const X = (m: number) => (m - span.left) * sx
  const Z = (m: number) => frame.sky + m * sz
  const hits = warned.flatMap((w) => {
    const line = lines.find((l) => l.rod === w.rod)
    const at = line && hitPoint(line, w.seconds, X, Z)
    return at ? [{ left: at[0] - 13, right: at[0] + 13, top: at[1] - 13, bottom: at[1] + 13 }] : []
  })
  return new Map(place(tags, area, before, hits).map((p) => [p.key, p]))
}

function isShort(lines: Drawn[], frame: Frame): boolean {
  return lines.length * (LABEL_H + 4) > frame.height - frame.sky - frame.foot
}

// What only changes with what is in view, and what only changes with the picture, is drawn once and
// laid down again in each frame: text costs more than all the rest.
export interface Sheets {
  back: HTMLCanvasElement
  depths: HTMLCanvasElement
  labels: Map<string, HTMLCanvasElement>
}

const DEPTHS_W = 64

function sheet(width: number, height: number, sharp: number): HTMLCanvasElement {
  const made = document.createElement('canvas')
  made.width = Math.max(1, Math.round(width * sharp))
  made.height = Math.max(1, Math.round(height * sharp))
  return made
}

function pen(of: HTMLCanvasElement, sharp: number, alpha: boolean): CanvasRenderingContext2D {
  const c = of.getContext('2d', { alpha })
  if (!c) throw new Error('this browser draws no canvas')
  c.setTransform(sharp, 0, 0, sharp, 0, 0)
  return c
}

export function sheets(frame: Frame, sharp: number): Sheets {
  return {
    back: sheet(frame.width, frame.height, sharp),
    depths: sheet(DEPTHS_W, frame.height, sharp),
    labels: new Map(),
  }
}

// Draw sky, water and axes anew.
export function drawBack(on: Sheets, span: Span, frame: Frame, look: Look, sharp: number): void {
  const floor = frame.height - frame.foot
  const c = pen(on.back, sharp, false)
  c.fillStyle = look.sky
  c.fillRect(0, 0, frame.width, frame.sky)
  c.fillStyle = look.water
  c.fillRect(0, frame.sky, frame.width, floor - frame.sky)
  const sz = pxDeep(span, frame)
  const ticked = depthTicks(span, frame)
  c.fillStyle = look.faint
  for (const [, m] of ticked) c.fillRect(0, Math.round(frame.sky + m * sz), frame.width, 1)
  along(c, span, frame, look, floor)
  const d = pen(on.depths, sharp, true)
  d.clearRect(0, 0, DEPTHS_W, frame.height)
  d.font = AXIS
  d.textBaseline = 'middle'
  d.textAlign = 'right'
  for (const [value, m] of ticked) {
    const text = `${value} ${label('length')}`
    const w = widthOf(d, text, AXIS) + 8
    const y = Math.round(frame.sky + m * sz)
    d.fillStyle = look.paper
    d.fillRect(DEPTHS_W - w, y - 9, w, 18)
    d.fillStyle = look.ink
    d.fillText(text, DEPTHS_W - 4, y + 1)
  }
}

// Draw the label of each lure anew.
export function drawLabels(on: Sheets, lines: Drawn[], frame: Frame, look: Look, sharp: number): void {
  const short = isShort(lines, frame)
  const h = short ? LABEL_H_SHORT : LABEL_H
  const drawn = new Map<string, HTMLCanvasElement>()
  for (const line of lines) {
    const [one, two] = labelRows(line, short)
    const old = on.labels.get(line.rod)
    const key = `${one}|${two}|${look.ink}|${colourOf(line.rod)}|${sharp}`
    if (old?.dataset.key === key) {
      drawn.set(line.rod, old)
      continue
    }
    const scratch = document.createElement('canvas').getContext('2d')
    const w = scratch ? labelWidth(scratch, one, two) : 100
    const made = sheet(w, h, sharp)
    made.dataset.key = key
    const c = pen(made, sharp, false)
    c.fillStyle = look.paper
    c.fillRect(0, 0, w, h)
    c.strokeStyle = colourOf(line.rod)
    c.lineWidth = 2
    c.strokeRect(1, 1, w - 2, h - 2)
    c.fillStyle = look.ink
    c.font = BIG
    c.fillText(one, 6, 16)
    c.font = SMALL
    if (two) c.fillText(two, 6, 32)
    drawn.set(line.rod, made)
  }
  on.labels = drawn
}

function labelWidth(c: CanvasRenderingContext2D, one: string, two: string): number {
  return Math.ceil(Math.max(widthOf(c, one, BIG), two ? widthOf(c, two, SMALL) : 0) + 12)
}

export function paint(c: CanvasRenderingContext2D, p: Painting): void {
  const { frame, span, look } = p
  const sx = pxAlong(span, frame)
  const sz = pxDeep(span, frame)
  const X = (m: number) => (m - span.left) * sx
  const Z = (m: number) => frame.sky + m * sz
  const floor = frame.height - frame.foot

  c.drawImage(p.sheets.back, 0, 0, frame.width, frame.height)
  c.save()
  c.beginPath()
  c.rect(0, 0, frame.width, floor)
  c.clip()
  bottom(c, p, Z, floor)
  c.fillStyle = look.ink
  c.fillRect(0, frame.sky - 1, frame.width, 2)
  for (const line of p.scene.lines) ahead(c, p, line, X, Z)
  for (const line of p.scene.lines) rope(c, p, line, X, Z)
  boat(c, p, X(0))
  for (const line of p.scene.lines) lure(c, p, line, X, Z)
  c.restore()
  names(c, p, X, Z)
  c.drawImage(p.sheets.depths, frame.width - DEPTHS_W, 0, DEPTHS_W, frame.height)
}

function depthTicks(span: Span, frame: Frame): [number, number][] {
  const deepest = convert(span.deep, 'length')
  const most = Math.max(2, Math.min(6, Math.floor((frame.height - frame.sky) / 52)))
  return ticks(0, deepest * 0.985, most)
    .filter((v) => v > 0)
    .map((v) => [v, toSi(v, 'length')])
}

function bottom(c: CanvasRenderingContext2D, p: Painting, Z: (m: number) => number, floor: number): void {
  const { z, band } = p.scene
  const { x0, step } = p.grid
  const { look, span, frame } = p
  const sx = pxAlong(span, frame)
  const px = (i: number) => (x0 + i * step - span.left) * sx
  const n = z.length
  let i = 0
  while (i < n) {
    const blind = i
    while (i < n && Number.isNaN(z[i])) i++
    const first = i
    if (first > blind) {
      unknown(c, p, blind ? px(blind - 1) : 0, first < n ? px(first) : frame.width, floor)
    }
    while (i < n && !Number.isNaN(z[i])) i++
    if (i - first < 2) continue
    const last = i - 1
    const run = (pick: (k: number) => number, colour: string) => {
      c.fillStyle = colour
      c.beginPath()
      c.moveTo(px(first), floor)
      for (let k = first; k <= last; k++) c.lineTo(px(k), Math.min(floor, Z(pick(k))))
      c.lineTo(px(last), floor)
      c.closePath()
      c.fill()
    }
    run((k) => Math.max(0, (z[k] ?? 0) - (band[k] ?? 0)), look.doubt)
    run((k) => (z[k] ?? 0) + (band[k] ?? 0), look.ground)
    c.strokeStyle = look.edge
    c.lineWidth = 2.5
    c.beginPath()
    for (let k = first; k <= last; k++) {
      const y = Z(z[k] ?? 0)
      if (k === first) c.moveTo(px(k), y)
      else c.lineTo(px(k), y)
    }
    c.stroke()
    // Dots, not dashes: dashing a long line costs more than all else in the picture.
    if (p.keepClear > 0) {
      c.fillStyle = look.edge
      for (let k = first; k <= last; k++) {
        c.fillRect(px(k) - 1, Z((z[k] ?? 0) - p.keepClear) - 1, 2, 2)
      }
    }
  }
}

// Where the bottom isn't known: slanting strokes along the foot, and words where there is room.
function unknown(c: CanvasRenderingContext2D, p: Painting, left: number, right: number, floor: number): void {
  const high = Math.min(34, (floor - p.frame.sky) * 0.25)
  c.save()
  c.beginPath()
  c.rect(left, floor - high, right - left, high)
  c.clip()
  c.strokeStyle = p.look.faint
  c.lineWidth = 3
  c.beginPath()
  const first = Math.floor((left - high) / 14) * 14
  for (let x = first; x < right; x += 14) {
    c.moveTo(x, floor)
    c.lineTo(x + high, floor - high)
  }
  c.stroke()
  c.restore()
  const said = 'bottom not known'
  const w = widthOf(c, said, AXIS)
  const from = Math.max(0, left)
  const to = Math.min(p.frame.width - DEPTHS_W, right)
  if (to - from < w + 12) return
  c.font = AXIS
  c.textAlign = 'center'
  c.textBaseline = 'middle'
  c.fillStyle = p.look.water
  c.fillRect((from + to) / 2 - w / 2 - 4, floor - high / 2 - 9, w + 8, 18)
  c.fillStyle = p.look.ink
  c.fillText(said, (from + to) / 2, floor - high / 2 + 1)
}

function ahead(
  c: CanvasRenderingContext2D,
  p: Painting,
  line: Drawn,
  X: (m: number) => number,
  Z: (m: number) => number,
): void {
  if (!line.ahead) return
  const warned = p.warned.find((w) => w.rod === line.rod)
  const n = line.aheadX.length
  if (warned) {
    c.strokeStyle = p.look.warn
    c.lineWidth = 2.5
    c.beginPath()
    c.moveTo(X(line.x), Z(line.z))
    for (let i = 1; i < n; i++) c.lineTo(X(line.aheadX[i] ?? 0), Z(line.aheadZ[i] ?? 0))
    c.stroke()
  }
  // A dot for every so many seconds.
  const r = warned ? 2.5 : 1.5
  c.fillStyle = warned ? p.look.warn : colourOf(line.rod)
  for (let i = 1; i < n; i++) {
    c.fillRect(X(line.aheadX[i] ?? 0) - r, Z(line.aheadZ[i] ?? 0) - r, 2 * r, 2 * r)
  }
  const at = warned && hitPoint(line, warned.seconds, X, Z)
  if (warned && at) hitMark(c, p.look, at[0], at[1], warned.sure)
}

function hitPoint(
  line: Drawn,
  seconds: number,
  X: (m: number) => number,
  Z: (m: number) => number,
): [number, number] | null {
  const times = line.now.ahead?.time_s
  const whole = times?.[times.length - 1] ?? 0
  if (!line.ahead || !(whole > 0)) return null
  const n = line.aheadX.length
  const at = Math.min(1, Math.max(0, seconds / whole)) * (n - 1)
  const k = Math.min(n - 2, Math.floor(at))
  const s = at - k
  return [
    X((line.aheadX[k] ?? 0) * (1 - s) + (line.aheadX[k + 1] ?? 0) * s),
    Z((line.aheadZ[k] ?? 0) * (1 - s) + (line.aheadZ[k + 1] ?? 0) * s),
  ]
}

// Where it will hit bottom: a crossed ring, filled where it surely does.
function hitMark(c: CanvasRenderingContext2D, look: Look, x: number, y: number, sure: boolean): void {
  c.beginPath()
  c.arc(x, y, 11, 0, 2 * Math.PI)
  c.fillStyle = sure ? look.warn : look.paper
  c.fill()
  c.lineWidth = 3
  c.strokeStyle = look.warn
  c.stroke()
  c.strokeStyle = sure ? look.paper : look.warn
  c.beginPath()
  c.moveTo(x - 5, y - 5)
  c.lineTo(x + 5, y + 5)
  c.moveTo(x + 5, y - 5)
  c.lineTo(x - 5, y + 5)
  c.stroke()
}

function rope(
  c: CanvasRenderingContext2D,
  p: Painting,
  line: Drawn,
  X: (m: number) => number,
  Z: (m: number) => number,
): void {
  c.strokeStyle = colourOf(line.rod)
  c.lineWidth = 2
  c.beginPath()
  // Through the middles between points, bent toward the points: a line has no corners.
  const n = line.lineX.length
  const px = (i: number) => X(line.lineX[i] ?? 0)
  const py = (i: number) => Math.max(6, Z(line.lineZ[i] ?? 0))
  c.moveTo(px(0), py(0))
  for (let i = 1; i < n - 1; i++) {
    c.quadraticCurveTo(px(i), py(i), (px(i) + px(i + 1)) / 2, (py(i) + py(i + 1)) / 2)
  }
  c.lineTo(px(n - 1), py(n - 1))
  c.stroke()
}

// The boat, bow to the right; a sign, not to scale.
function boat(c: CanvasRenderingContext2D, p: Painting, x: number): void {
  const y = p.frame.sky
  c.fillStyle = p.look.ink
  c.beginPath()
  c.moveTo(x - 20, y - 9)
  c.lineTo(x + 24, y - 9)
  c.quadraticCurveTo(x + 19, y + 3, x + 9, y + 4)
  c.lineTo(x - 16, y + 4)
  c.closePath()
  c.fill()
  c.fillRect(x - 5, y - 19, 12, 11)
}

function lure(
  c: CanvasRenderingContext2D,
  p: Painting,
  line: Drawn,
  X: (m: number) => number,
  Z: (m: number) => number,
): void {
  const { look } = p
  const tone = colourOf(line.rod)
  const x = X(line.x)
  const low = Z(line.low)
  const high = Z(line.high)
  const bar = (width: number, colour: string) => {
    c.strokeStyle = colour
    c.lineWidth = width
    c.beginPath()
    c.moveTo(x, low)
    c.lineTo(x, high)
    c.moveTo(x - 6, low)
    c.lineTo(x + 6, low)
    c.moveTo(x - 6, high)
    c.lineTo(x + 6, high)
    c.stroke()
  }
  bar(5, look.paper)
  bar(2.5, tone)
  if (line.wanted !== null) wanted(c, p, x, Z(line.wanted), Z(line.z), tone)
  mark(c, look, shapeOf(line.rod), x, Z(line.z), tone)
}

// Where the crew wants it: two short strokes with the lure's place between them,
function wanted(
  c: CanvasRenderingContext2D,
  p: Painting,
  x: number,
  y: number,
  from: number,
  tone: string,
): void {
  // and a dotted way to it.
  if (Math.abs(y - from) > 16) {
    c.strokeStyle = tone
    c.lineWidth = 1.5
    c.setLineDash([2, 3])
    c.beginPath()
    c.moveTo(x, from)
    c.lineTo(x, y)
    c.stroke()
    c.setLineDash([])
  }
  for (const [width, colour] of [
    [6, p.look.paper],
    [3, tone],
  ] as const) {
    c.strokeStyle = colour
    c.lineWidth = width
    c.beginPath()
    c.moveTo(x - 22, y)
    c.lineTo(x - 12, y)
    c.moveTo(x + 12, y)
    c.lineTo(x + 22, y)
    c.stroke()
  }
}

function mark(
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

function names(
  c: CanvasRenderingContext2D,
  p: Painting,
  X: (m: number) => number,
  Z: (m: number) => number,
): void {
  const { look } = p
  const h = isShort(p.scene.lines, p.frame) ? LABEL_H_SHORT : LABEL_H
  for (const line of p.scene.lines) {
    const at = p.labels.get(line.rod)
    const drawn = p.sheets.labels.get(line.rod)
    if (!at || !drawn) continue
    const w = (drawn.width * h) / drawn.height
    const x = X(line.x)
    const y = Z(line.z)
    // A thread from label to mark where it had to stand aside.
    const edge = x < at.left ? at.left : Math.min(x, at.left + w)
    const mid = at.top + h / 2
    if (Math.abs(mid - y) > 6 || Math.abs(edge - x) > 26) {
      const tone = colourOf(line.rod)
      c.strokeStyle = tone
      c.lineWidth = 1.5
      c.beginPath()
      c.moveTo(edge, mid)
      c.lineTo(x, y)
      c.stroke()
      mark(c, look, shapeOf(line.rod), x, y, tone)
    }
    c.drawImage(drawn, at.left, at.top, w, h)
  }
}

function along(c: CanvasRenderingContext2D, span: Span, frame: Frame, look: Look, floor: number): void {
  const unit = label('length')
  const sx = pxAlong(span, frame)
  c.fillStyle = look.paper
  c.fillRect(0, floor, frame.width, frame.foot)
  c.fillStyle = look.ink
  c.fillRect(0, floor, frame.width, 1)
  c.font = AXIS
  c.textBaseline = 'middle'
  c.textAlign = 'center'
  const narrow = frame.width < 600
  const low = convert(span.left, 'length')
  const high = convert(span.right, 'length')
  let free = -Infinity
  for (const value of ticks(low, high, Math.max(3, Math.floor(frame.width / 90)))) {
    const x = (toSi(value, 'length') - span.left) * sx
    // On a phone the depth axis has to do for the unit.
    const far = narrow ? `${Math.abs(value)}` : `${Math.abs(value)} ${unit}`
    const text = value === 0 ? 'boat' : `${far}${value < 0 ? ' behind' : ' ahead'}`
    const w = widthOf(c, text, AXIS)
    c.fillRect(Math.round(x), floor, 1, 6)
    const mid = Math.min(Math.max(x, w / 2 + 3), frame.width - w / 2 - 3)
    if (Math.abs(mid - x) > w / 2 || mid - w / 2 < free) continue
    free = mid + w / 2 + 8
    c.fillText(text, mid, floor + frame.foot / 2 + 3)
  }
  const times = stretch(span, frame)
  const shown = times < 10 ? times.toFixed(1).replace('.0', '') : String(Math.round(times))
  c.textAlign = 'left'
  c.fillText(`depth drawn ${shown}×`, 6, 13)
}
