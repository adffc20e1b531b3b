// When to ask again though the journal did not change: the connection is back, or time has gone by.
import { live } from '../../lib/stream'

class Again {
  /** Rises whenever the connection is back. */
  back = $state(0)
  /** Rises every five minutes. */
  readonly five = $derived(Math.floor(live.nowS / 300))

  constructor() {
    live.onBack(() => (this.back += 1))
  }
}

export const again = new Again()
