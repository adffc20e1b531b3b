// What is asked of a rig: a depth or a length of line, the speed, a current; and its answer.
import { keep, kept } from '../../lib/keep'
import { toSi, units } from '../../lib/units'
import { Asker } from './asker.svelte'
import type { Room } from './room.svelte'
import { inSi, SHALLOWEST, steps, whole } from './steps'
import type { Ask } from './types'

/** To be made while a component is: it asks whenever something has changed. */
export class Question {
  by = $state<'depth' | 'out'>('depth')
  speed = $state(0) // [m/s]
  depth = $state(0) // [m]
  out = $state(0) // [m]
  stream = $state<'none' | 'against' | 'with'>('none')
  streamSpeed = $state<number | null>(null) // [m/s]
  /** Whether what readings taught is left out. */
  uncalibrated = $state(false)
  readonly asker = new Asker()

  readonly #room: Room
  #again = $state(0) // rises when what answers rest on has changed

  // What the sliders cover, and what may be typed.
  readonly wide = $derived.by(() => {
    const { draft, rig } = this.#room
    const pieces = draft?.pieces ?? rig?.pieces ?? []
    const all = draft ? draft.pieces.reduce((sum, each) => sum + each.length_m, 0) : (rig?.length_m ?? 100)
    return { least: pieces.length > 1 ? pieces[0]!.length_m : 1, most: Math.min(all, 150), all }
  })
  /** The line out that is asked about, within what the rig has [m]. */
  readonly outHere = $derived(Math.min(Math.max(this.out, this.wide.least), this.wide.all))

  constructor(room: Room) {
    this.#room = room
    $effect(() => {
      void this.#again
      const ask = this.#ask
      if (ask && (room.view === 'live' || room.view === 'build')) this.asker.ask(room.name || 'draft', ask)
    })
    $effect(() => {
      const { speed, depth } = this
      if (speed) keep('rigs.last', JSON.stringify({ name: room.name, speed, depth }))
    })
  }

  get told(): Asker['told'] {
    return this.asker.told
  }

  readonly #ask = $derived.by<Ask | null>(() => {
    const { name, made } = this.#room
    if (!this.speed || (!name && !made)) return null
    const { change } = steps()
    const asked: Ask = {
      rig: name,
      lure: '',
      speed_m_s: this.speed,
      current: [],
      uncalibrated: this.uncalibrated,
      step_speed_m_s: inSi(change.speed, 'speed'),
      step_let_out_m: inSi(change.out, 'length'),
      units: units.system,
    }
    if (made) asked.spec = made
    if (this.stream !== 'none' && this.streamSpeed) {
      const along_m_s = this.stream === 'with' ? this.streamSpeed : -this.streamSpeed
      asked.current = [{ depth_m: 0, along_m_s, across_m_s: 0 }]
    }
    if (this.by === 'depth') asked.depth_m = this.depth
    else asked.let_out_m = this.outHere
    return asked
  })

  /** Begins with what was asked last on this device; gives the rig that it was asked of. */
  recall(): string {
    const said = JSON.parse(kept('rigs.last') ?? '{}') as { name?: string; speed?: number; depth?: number }
    const us = units.system === 'us'
    this.speed = said.speed ?? toSi(us ? 2 : 3.2, 'speed')
    this.depth = said.depth ?? toSi(us ? 20 : 6, 'length')
    this.out = toSi(us ? 120 : 36, 'length')
    return said.name ?? ''
  }

  /** Asks anew: the rig's readings have changed. */
  again(): void {
    this.#again += 1
  }

  byOut(): void {
    const out = this.counter
    if (out !== null) this.out = out
    this.by = 'out'
  }

  byDepth(): void {
    if (this.told) this.depth = Math.max(SHALLOWEST, whole(this.told.depth_m, 'length', steps().depth))
    this.by = 'depth'
  }

  faster(speed: number): void {
    if (this.told) this.out = this.told.let_out_m
    this.by = 'out'
    this.speed = speed
  }

  longer(out: number): void {
    this.by = 'out'
    this.out = out
  }

  /** The answer's line out as a counter shows it [m], or null. */
  get counter(): number | null {
    return this.told ? whole(this.told.let_out_m, 'length', 1) : null
  }
}
