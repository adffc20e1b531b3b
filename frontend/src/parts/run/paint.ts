// The water from the side, on a canvas.

import type { Drawn, Scene } from './blend'
import { place, type Placed, type Tag } from './labels'
import { CORNERS, markOf, trace, type Shape } from './marks'
import { pxAlong, pxDeep, stretch, ticks, type Frame, type Span } from './scale'
import { convert, figure, label, show, toSi } from '../../lib/units'

export interface Look {
  sky: string
  water: string
  deep: string
  ground: string
  doubt: string
  edge: string
  ink: string
  faint: string
  paper: string
  warn: string
  rods: string[]
}

// Custom properties by which the look comes in from the style sheet.
export function lookOf(element: Element): Look {
  const style = getComputedStyle(element)
  const get = (name: string) => style.getPropertyValue(`--run-${name}`).trim() || '#000'
  return {
    sky: get('sky'),
    water: get('water'),
    deep: get('deep'),
    ground: get('ground'),
    doubt: get('doubt'),
    edge: get('edge'),
    ink: get('ink'),
    faint: get('faint'),
    paper: get('paper'),
    warn: get('warn'),
    rods: [1, 2, 3, 4, 5, 6].map((n) => get(`rod-${n}`)),
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
  const clear = line.now.clearance_m
  const said = clear === null || clear === undefined ? '' : `${figure(clear, 'length')} clear`
  return [line.rod, said ? `${depth}, ${said}` : depth]
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
): Map<string, Placed> {
  const short = isShort(lines, frame)
  const sx = pxAlong(span, frame)
  const sz = pxDeep(span, frame)
  const tags: Tag[] = lines.map((line) => {
    const [one, two] = labelRows(line, short)
    const w = Math.max(widthOf(c, one, BIG), two ? widthOf(c, two, SMALL) : 0) + 12
    return {
      key: line.rod,
      x: (line.x - span.left) * sx,
      y: frame.sky + line.z * sz,
      w: Math.ceil(w),
      h: short ? LABEL_H_SHORT : LABEL_H,
    }
  })
  const area = {
    left: 2,
    right: frame.width - 2,
    top: frame.sky + 2,
    bottom: frame.height - frame.foot - 2,
  }
  return new Map(place(tags, area, before).map((p) => [p.key, p]))
}

function isShort(lines: Drawn[], frame: Frame): boolean {
  return lines.length * (LABEL_H + 4) > frame.height - frame.sky - frame.foot
}

export function paint(c: CanvasRenderingContext2D, p: Painting): void {
  const { frame, span, look } = p
  const sx = pxAlong(span, frame)
  const sz = pxDeep(span, frame)
  const X = (m: number) => (m - span.left) * sx
  const Z = (m: number) => frame.sky + m * sz
  const floor = frame.height - frame.foot

  c.fillStyle = look.sky
  c.fillRect(0, 0, frame.width, frame.sky)
  c.fillStyle = look.water
  c.fillRect(0, frame.sky, frame.width, floor - frame.sky)

  depthLines(c, p, Z)
  bottom(c, p, Z, floor)
  c.fillStyle = look.ink
  c.fillRect(0, frame.sky - 1, frame.width, 2)

  c.save()
  c.beginPath()
  c.rect(0, 0, frame.width, floor)
  c.clip()
  for (const line of p.scene.lines) ahead(c, p, line, X, Z)
  for (const line of p.scene.lines) rope(c, p, line, X, Z)
  boat(c, p, X(0))
  for (const line of p.scene.lines) lure(c, p, line, X, Z)
  c.restore()
  names(c, p, X, Z)
  axes(c, p, X, Z, floor)
}

function toneOf(look: Look, rod: string): string {
  return look.rods[markOf(rod).tone - 1] ?? look.ink
}

function depthLines(c: CanvasRenderingContext2D, p: Painting, Z: (m: number) => number): void {
  c.fillStyle = p.look.faint
  for (const [, m] of depthTicks(p)) c.fillRect(0, Math.round(Z(m)), p.frame.width, 1)
}

function depthTicks(p: Painting): [number, number][] {
  const deepest = convert(p.span.deep, 'length')
  const most = Math.max(2, Math.min(6, Math.floor((p.frame.height - p.frame.sky) / 52)))
  return ticks(0, deepest * 0.985, most)
    .filter((v) => v > 0)
    .map((v) => [v, toSi(v, 'length')])
}

function bottom(
  c: CanvasRenderingContext2D,
  p: Painting,
  Z: (m: number) => number,
  floor: number,
): void {
  const { z, band } = p.scene
  const { x0, step } = p.grid
  const { look, span, frame } = p
  const sx = pxAlong(span, frame)
  const px = (i: number) => (x0 + i * step - span.left) * sx
  const n = z.length
  let i = 0
  while (i < n) {
    while (i < n && Number.isNaN(z[i])) i++
    const first = i
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
    const trail = (lift: number) => {
      c.beginPath()
      for (let k = first; k <= last; k++) {
        const y = Z((z[k] ?? 0) - lift)
        if (k === first) c.moveTo(px(k), y)
        else c.lineTo(px(k), y)
      }
      c.stroke()
    }
    c.save()
    c.beginPath()
    c.rect(0, frame.sky, frame.width, floor - frame.sky)
    c.clip()
    c.strokeStyle = look.edge
    c.lineWidth = 2.5
    trail(0)
    if (p.keepClear > 0) {
      c.lineWidth = 1.25
      c.setLineDash([2, 5])
      trail(p.keepClear)
      c.setLineDash([])
    }
    c.restore()
  }
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
  c.strokeStyle = warned ? p.look.warn : toneOf(p.look, line.rod)
  c.lineWidth = warned ? 3 : 1.5
  c.globalAlpha = warned ? 1 : 0.65
  c.setLineDash(warned ? [8, 5] : [3, 5])
  const n = line.aheadX.length
  c.beginPath()
  c.moveTo(X(line.x), Z(line.z))
  for (let i = 1; i < n; i++) c.lineTo(X(line.aheadX[i] ?? 0), Z(line.aheadZ[i] ?? 0))
  c.stroke()
  c.setLineDash([])
  c.globalAlpha = 1
  const times = line.now.ahead?.time_s
  const whole = times?.[times.length - 1] ?? 0
  if (!warned || !(whole > 0)) return
  const at = Math.min(1, Math.max(0, warned.seconds / whole)) * (n - 1)
  const k = Math.min(n - 2, Math.floor(at))
  const s = at - k
  const x = X((line.aheadX[k] ?? 0) * (1 - s) + (line.aheadX[k + 1] ?? 0) * s)
  const y = Z((line.aheadZ[k] ?? 0) * (1 - s) + (line.aheadZ[k + 1] ?? 0) * s)
  touchMark(c, p.look, x, y, warned.sure)
}

// Where it will touch: a crossed ring, filled where it surely does.
function touchMark(
  c: CanvasRenderingContext2D,
  look: Look,
  x: number,
  y: number,
  sure: boolean,
): void {
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
  c.strokeStyle = toneOf(p.look, line.rod)
  c.lineWidth = 2
  c.beginPath()
  for (let i = 0; i < line.lineX.length; i++) {
    const x = X(line.lineX[i] ?? 0)
    const y = Math.max(6, Z(line.lineZ[i] ?? 0))
    if (i) c.lineTo(x, y)
    else c.moveTo(x, y)
  }
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
  const tone = toneOf(look, line.rod)
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
  if (line.wanted !== null) wanted(c, p, x, Z(line.wanted), tone)
  mark(c, look, markOf(line.rod).shape, x, Z(line.z), tone)
}

// Where the crew wants it: two short strokes with the lure's place between them.
function wanted(
  c: CanvasRenderingContext2D,
  p: Painting,
  x: number,
  y: number,
  tone: string,
): void {
  for (const [width, colour] of [[6, p.look.paper], [3, tone]] as const) {
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
  const short = isShort(p.scene.lines, p.frame)
  const h = short ? LABEL_H_SHORT : LABEL_H
  c.textBaseline = 'alphabetic'
  c.textAlign = 'left'
  for (const line of p.scene.lines) {
    const at = p.labels.get(line.rod)
    if (!at) continue
    const [one, two] = labelRows(line, short)
    const w = Math.max(widthOf(c, one, BIG), two ? widthOf(c, two, SMALL) : 0) + 12
    const x = X(line.x)
    const y = Z(line.z)
    const tone = toneOf(look, line.rod)
    // A thread from label to mark where it had to stand aside.
    const edge = x < at.left ? at.left : Math.min(x, at.left + w)
    const mid = at.top + h / 2
    if (Math.abs(mid - y) > 6 || Math.abs(edge - x) > 26) {
      c.strokeStyle = tone
      c.lineWidth = 1.5
      c.beginPath()
      c.moveTo(edge, mid)
      c.lineTo(x, y)
      c.stroke()
      mark(c, look, markOf(line.rod).shape, x, y, tone)
    }
    c.fillStyle = look.paper
    c.fillRect(at.left, at.top, w, h)
    c.strokeStyle = tone
    c.lineWidth = 2
    c.strokeRect(at.left + 1, at.top + 1, w - 2, h - 2)
    c.fillStyle = look.ink
    c.font = BIG
    c.fillText(one, at.left + 6, at.top + 16)
    if (two) {
      c.font = SMALL
      c.fillText(two, at.left + 6, at.top + 32)
    }
  }
}

function axes(
  c: CanvasRenderingContext2D,
  p: Painting,
  X: (m: number) => number,
  Z: (m: number) => number,
  floor: number,
): void {
  const { look, frame, span } = p
  const unit = label('length')
  c.font = AXIS
  c.textBaseline = 'middle'
  c.textAlign = 'right'
  for (const [value, m] of depthTicks(p)) {
    const text = `${value} ${unit}`
    const w = widthOf(c, text, AXIS) + 8
    const y = Math.round(Z(m))
    c.fillStyle = look.paper
    c.fillRect(frame.width - w, y - 9, w, 18)
    c.fillStyle = look.ink
    c.fillText(text, frame.width - 4, y + 1)
  }
  c.fillStyle = look.paper
  c.fillRect(0, floor, frame.width, frame.foot)
  c.fillStyle = look.ink
  c.fillRect(0, floor, frame.width, 1)
  c.textAlign = 'center'
  const low = convert(span.left, 'length')
  const high = convert(span.right, 'length')
  const most = Math.max(2, Math.floor(frame.width / 110))
  let free = -Infinity
  for (const value of ticks(low, high, most)) {
    const x = X(toSi(value, 'length'))
    const text = value === 0 ? 'boat' : `${Math.abs(value)} ${unit}${value < 0 ? ' behind' : ' ahead'}`
    const w = widthOf(c, text, AXIS)
    if (x - w / 2 < 2 || x + w / 2 > frame.width - 2 || x - w / 2 < free) continue
    free = x + w / 2 + 10
    c.fillStyle = look.ink
    c.fillRect(Math.round(x), floor, 1, 6)
    c.fillText(text, x, floor + frame.foot / 2 + 3)
  }
  const times = stretch(span, frame)
  const said = `depth drawn ${times < 10 ? times.toFixed(1).replace('.0', '') : Math.round(times)}× too tall`
  c.textAlign = 'left'
  c.fillText(said, 6, 13)
}
