// Asks the built core every case of a file through the app's own wrapper. With "time" in a line, the
// question is asked so many times, and the best time told.
import { answerAll, core as started, pages } from '../pages.mjs'

const core = await started(pages('core/arena', 'core/entries', 'core/core'))

const kinds = { doubles: Float64Array, singles: Float32Array, integers: Int32Array }
const bytes = (values) => Buffer.from(values.buffer, values.byteOffset, values.byteLength).toString('base64')

function laid(value, filled, path) {
  if (value.number !== undefined) return new Float64Array(Uint8Array.from(Buffer.from(value.number, 'base64')).buffer)[0]
  if (value.kind !== undefined) {
    const values = value.bytes && new kinds[value.kind](Uint8Array.from(Buffer.from(value.bytes, 'base64')).buffer)
    const array = core.arena[value.kind](value.sizes, values)
    filled[path] = array
    return array
  }
  return Object.fromEntries(
    Object.entries(value).map(([name, own]) => [name, laid(own, filled, path ? `${path}.${name}` : name)]),
  )
}

const start = core.arena.mark()
answerAll(({ way, given, wanted, time }) => {
  core.arena.freeTo(start)
  const filled = {}
  const words = laid(given, filled, '')
  let result = core.ask(way, words)
  let best = Infinity
  for (let i = 0; i < (time ?? 0); i++) {
    const begun = performance.now()
    result = core.ask(way, words)
    best = Math.min(best, performance.now() - begun)
  }
  const arrays = Object.fromEntries(wanted.map((path) => [path, bytes(filled[path].values)]))
  const plain = Array.isArray(result) ? result : result === undefined ? [] : [Number(result)]
  return { result: bytes(Float64Array.from(plain)), arrays, best }
})
