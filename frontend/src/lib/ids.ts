// Names for entries, made on the spot: UUIDs of version 7 (RFC 9562, section 5.7), as the journal
// wants them. They never clash and sort by the time they were made.

const CHANCE_BITS = 74n
let last: [number, bigint] = [0, 0n]

function chance(bytes: number): bigint {
  const drawn = crypto.getRandomValues(new Uint8Array(bytes))
  return drawn.reduce((sum, each) => (sum << 8n) | BigInt(each), 0n)
}

function split(name: string): [number, bigint] {
  const number = BigInt(`0x${name.replaceAll('-', '')}`)
  const high = (number >> 64n) & 0xfffn
  return [Number(number >> 80n), (high << 62n) | (number & ((1n << 62n) - 1n))]
}

function join(stamp: number, drawn: bigint): string {
  const number =
    (BigInt(stamp) << 80n) |
    (7n << 76n) |
    ((drawn >> 62n) << 64n) |
    (2n << 62n) |
    (drawn & ((1n << 62n) - 1n))
  const hex = number.toString(16).padStart(32, '0')
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-')
}

/**
 * Makes a name that sorts behind all made here before in the same instant, and behind `after`: what
 * an undo takes back, for instance, though that came from a phone whose clock runs ahead.
 */
export function newId(after = '', nowMs = Date.now()): string {
  let stamp = Math.floor(nowMs)
  let drawn = chance(10) >> (80n - CHANCE_BITS)
  const floors: [number, bigint][] = last[0] === stamp ? [last] : []
  if (after) floors.push(split(after))
  for (const floor of floors) {
    if (stamp > floor[0] || (stamp === floor[0] && drawn > floor[1])) continue
    ;[stamp, drawn] = [floor[0], floor[1] + 1n + chance(4)]
    if (drawn >> CHANCE_BITS) [stamp, drawn] = [stamp + 1, chance(4)]
  }
  last = [stamp, drawn]
  return join(stamp, drawn)
}
