// Which device this is, and whose: told with every entry that is made on it.
import { keep, kept } from './keep'

function named(): string {
  const known = kept('device')
  if (known) return known
  const drawn = crypto.getRandomValues(new Uint8Array(4))
  const name = `phone-${Array.from(drawn, (each) => each.toString(16).padStart(2, '0')).join('')}`
  keep('device', name)
  return name
}

class Device {
  /** The device's own name, made once. */
  readonly name = named()
  /** Who of the crew holds it; "" where not said. */
  who = $state(kept('who') ?? '')

  holds(who: string): void {
    this.who = who
      .replace(/\p{Cc}/gu, '')
      .trim()
      .slice(0, 40)
    keep('who', this.who)
  }
}

export const device = new Device()
