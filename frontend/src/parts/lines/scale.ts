// How much of the water is shown, and where its axes are ticked.

export interface Span {
  left: number // along, at the left edge of the drawing [m]
  right: number // along, at its right edge [m]
  deep: number // depth at its lower edge [m]
}

export interface Frame {
  width: number // of the whole canvas [CSS px]
  height: number
  sky: number // above the surface
  foot: number // strip for the distance axis
  side: number // room to the left of the last lure, for its label
}

// Steps that people count in, in whatever unit is shown.
const STEPS = [1, 2, 5, 10]

export function niceStep(range: number, most: number): number {
  if (!(range > 0)) return 1
  const raw = range / Math.max(1, most)
  const power = 10 ** Math.floor(Math.log10(raw))
  for (const step of STEPS) if (step * power >= raw * 0.75) return step * power
  return 10 * power
}

export function ticks(low: number, high: number, most: number): number[] {
  const step = niceStep(high - low, most)
  const found: number[] = []
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + 1e-9 * step; i++) {
    found.push(i === 0 ? 0 : i * step)
  }
  return found
}

export interface Content {
  back: number // farthest thing behind [m], negative
  fore: number // farthest thing ahead [m]
  lure: number // deepest that a lure may run [m]
  bottom: number | null // deepest bottom over that stretch [m]
}

// The span that fills the frame with what there is. The bottom is brought in as long as the lures
// then still have the upper part of the picture; far deeper water would press them flat.
export function fit(content: Content, frame: Frame): Span {
  const inner = Math.max(50, frame.width - frame.side - 14)
  const right = Math.max(content.fore, 15)
  const wide = right - Math.min(content.back, -10)
  const left = right - (wide * (frame.width - 14)) / inner
  const lure = Math.max(content.lure, 1.5)
  const wish = content.bottom === null ? lure * 1.35 : content.bottom * 1.1
  const deep = Math.min(Math.max(wish, lure * 1.2, 2), lure * 2.4)
  return { left, right: right + (14 * wide) / inner, deep }
}

// Keep the span that is shown while it still serves, so that the picture doesn't breathe.
export function keep(now: Span | null, want: Span): Span {
  if (now === null) return want
  const wide = want.right - want.left
  const fits =
    Math.abs(want.left - now.left) < 0.08 * wide &&
    Math.abs(want.right - now.right) < 0.08 * wide &&
    want.deep <= now.deep * 1.02 &&
    want.deep >= now.deep * 0.8
  return fits ? now : want
}

export function ease(from: Span, to: Span, share: number): Span {
  const s = share <= 0 ? 0 : share >= 1 ? 1 : share * share * (3 - 2 * share)
  return {
    left: from.left + (to.left - from.left) * s,
    right: from.right + (to.right - from.right) * s,
    deep: from.deep + (to.deep - from.deep) * s,
  }
}

export function pxAlong(span: Span, frame: Frame): number {
  return frame.width / (span.right - span.left)
}

export function pxDeep(span: Span, frame: Frame): number {
  return (frame.height - frame.sky - frame.foot) / span.deep
}

// How many times steeper than it is the water is drawn.
export function stretch(span: Span, frame: Frame): number {
  return pxDeep(span, frame) / pxAlong(span, frame)
}
