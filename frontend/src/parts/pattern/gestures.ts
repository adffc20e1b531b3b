// Fingers and wheel on the day's picture: one finger moves it, two bring it closer, a tap picks.
import { held, zoomed, type Seen } from './timeline'

const TAP_PX = 6 // moved less than that, it was a tap
const NEAREST_PX = 8 // two fingers count as no nearer than that

export interface Canvas {
  seen: Seen
  all: Seen
  per: number // points to a second
}

/** `now` gives the picture as it is, `see` is told what to show, `tap` where it was tapped. */
export function gestures(now: () => Canvas, see: (to: Seen) => void, tap: (x: number, y: number) => void) {
  const fingers = new Map<number, number>()
  let moved = 0

  return {
    onpointerdown(event: PointerEvent): void {
      fingers.set(event.pointerId, event.offsetX)
      moved = 0
    },
    onpointermove(event: PointerEvent): void {
      const before = fingers.get(event.pointerId)
      if (before === undefined) return
      const { seen, all, per } = now()
      const at = event.offsetX
      if (fingers.size === 1) {
        moved += Math.abs(at - before)
        if (moved > TAP_PX) {
          ;(event.currentTarget as Element).setPointerCapture(event.pointerId)
          const by = (at - before) / per
          see(held({ from: seen.from - by, to: seen.to - by }, all))
        }
      } else {
        const other = [...fingers].find(([id]) => id !== event.pointerId)?.[1] ?? at
        moved += 10
        const by = Math.abs(at - other) / Math.max(Math.abs(before - other), NEAREST_PX)
        if (by > 0.2 && by < 5) see(zoomed(seen, all, by, seen.from + (at + other) / 2 / per))
      }
      fingers.set(event.pointerId, at)
    },
    onpointerup(event: PointerEvent): void {
      fingers.delete(event.pointerId)
      if (moved <= TAP_PX) tap(event.offsetX, event.offsetY)
    },
    onpointercancel(event: PointerEvent): void {
      fingers.delete(event.pointerId)
    },
    onwheel(event: WheelEvent): void {
      if (!event.ctrlKey) return
      event.preventDefault()
      const { seen, all, per } = now()
      see(zoomed(seen, all, Math.exp(-event.deltaY / 200), seen.from + event.offsetX / per))
    },
  }
}
