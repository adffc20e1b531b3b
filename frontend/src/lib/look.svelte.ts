// Day or night look: as the device says, or as the crew chose; kept.
import { keep, kept } from './keep'

export type Look = 'auto' | 'day' | 'night'

class Looks {
  choice = $state<Look>('auto')
  #dark = matchMedia('(prefers-color-scheme: dark)')
  #device = $state<'day' | 'night'>('day')

  constructor() {
    const said = kept('look')
    if (said === 'day' || said === 'night') this.choice = said
    const follow = () => {
      this.#device = this.#dark.matches ? 'night' : 'day'
      this.#apply()
    }
    this.#dark.addEventListener('change', follow)
    follow()
  }

  /** The look now: "day" or "night". */
  get now(): 'day' | 'night' {
    return this.choice === 'auto' ? this.#device : this.choice
  }

  choose(choice: Look): void {
    this.choice = choice
    keep('look', choice)
    this.#apply()
  }

  #apply(): void {
    document.documentElement.dataset.look = this.now
  }
}

export const look = new Looks()
