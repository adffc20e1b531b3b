// Which screen is shown: the hash of the address, "#log" or "#lake?pass=3".
import { still } from './back'

export const NAMES = ['lines', 'log', 'lake', 'rigs', 'pattern', 'trip'] as const
export type Name = (typeof NAMES)[number]

function parse(hash: string): { name: Name; query: URLSearchParams } {
  const [path = '', tail = ''] = hash.replace(/^#\/?/, '').split('?')
  const name = NAMES.find((each) => each === path) ?? 'lines'
  return { name, query: new URLSearchParams(tail) }
}

class Route {
  #now = $state.raw(parse(location.hash))

  constructor() {
    addEventListener('hashchange', () => (this.#now = parse(location.hash)))
  }

  get name(): Name {
    return this.#now.name
  }

  /** What stands behind the "?" of the hash. */
  get query(): URLSearchParams {
    return this.#now.query
  }
}

export const route = new Route()

/** Goes to a screen. */
export function go(name: Name, query: Record<string, string> = {}): void {
  const tail = new URLSearchParams(query).toString()
  still(() => (location.hash = tail ? `${name}?${tail}` : name))
}
