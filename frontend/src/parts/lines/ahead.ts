// Where each lure will be, and where one hits bottom.
import { colourOf } from '../../lib/rods'
import type { Drawn } from './blend'
import type { Look, Painting, Way } from './canvas'

export function ahead(c: CanvasRenderingContext2D, p: Painting, line: Drawn, X: Way, Z: Way): void {
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

export function hitPoint(line: Drawn, seconds: number, X: Way, Z: Way): [number, number] | null {
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
