// What is drawn once and laid down again in each frame: the water behind, the axes.
import { convert, label, toSi } from '../../lib/units'
import { AXIS, widthOf, type Look } from './canvas'
import { pxAlong, pxDeep, stretch, ticks, type Frame, type Span } from './scale'

// What only changes with what is in view, and what only changes with the picture, is drawn once and
// laid down again in each frame: text costs more than all the rest.
export interface Sheets {
  back: HTMLCanvasElement
  depths: HTMLCanvasElement
  labels: Map<string, HTMLCanvasElement>
}

export const DEPTHS_W = 64

export function sheet(width: number, height: number, sharp: number): HTMLCanvasElement {
  const made = document.createElement('canvas')
  made.width = Math.max(1, Math.round(width * sharp))
  made.height = Math.max(1, Math.round(height * sharp))
  return made
}

export function pen(of: HTMLCanvasElement, sharp: number, alpha: boolean): CanvasRenderingContext2D {
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

function depthTicks(span: Span, frame: Frame): [number, number][] {
  const deepest = convert(span.deep, 'length')
  const most = Math.max(2, Math.min(6, Math.floor((frame.height - frame.sky) / 52)))
  return ticks(0, deepest * 0.985, most)
    .filter((v) => v > 0)
    .map((v) => [v, toSi(v, 'length')])
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
