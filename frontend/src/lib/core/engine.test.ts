// @vitest-environment happy-dom
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { carried } from '../carried'
import { Engine, NoEngine, Superseded, type Thread } from './engine'
import type { Heard, Said } from './worker'
import type { Ask, Told } from '../../parts/rigs/types'

const ask = (speed_m_s: number): Ask => ({ rig: 'demo', speed_m_s, depth_m: 6 }) as Ask

class Fake implements Thread {
  said: Said[] = []
  onmessage: ((event: MessageEvent<Heard>) => void) | null = null
  onerror: ((event: ErrorEvent) => void) | null = null
  postMessage(said: Said): void {
    this.said.push(said)
  }
  get asked(): { id: number; ask: Ask }[] {
    return this.said.filter((each) => 'id' in each)
  }
  say(heard: Heard): void {
    this.onmessage?.({ data: heard } as MessageEvent<Heard>)
  }
}

const told = (depth_m: number): Heard => ({
  id: 1,
  answered: {
    care: [{ key: 'spool', share: 0 }],
    told: { depth_m, count: { before_m: 0, colors: null, after_m: 0 } } as unknown as Told,
  },
})
const settled = (): Promise<void> => new Promise((done) => setTimeout(done, 0))

describe('the engine', () => {
  let thread: Fake
  let engine: Engine
  beforeEach(() => {
    thread = new Fake()
    engine = new Engine(() => thread)
    vi.spyOn(carried, 'tackle').mockResolvedValue({ engine: {}, stamp: 'a' } as never)
  })
  afterEach(() => {
    vi.restoreAllMocks()
    vi.unstubAllGlobals()
  })

  it('hands one question at a time to its worker, the newest next', async () => {
    const first = engine.rig(ask(0.8))
    await settled()
    const second = engine.rig(ask(0.9)).catch((error: unknown) => error)
    const third = engine.rig(ask(1))
    await settled()
    expect(thread.asked.map((each) => each.ask.speed_m_s)).toEqual([0.8])
    expect(await second).toBeInstanceOf(Superseded)
    thread.say(told(5))
    expect((await first).mind).toEqual([
      'This is nearly all the line on the rig: leave some turns on the spool.',
    ])
    expect(thread.asked.map((each) => each.ask.speed_m_s)).toEqual([0.8, 1])
    thread.say({ id: 2, why: 'afloat', figures: { let_out: 30.48, speed: 0.44704 } })
    await expect(third).rejects.toThrow(/the lure stays at the surface with 100\sft of line at 1\.0\smph/)
  })

  it('says plainly where it cannot run, and begins anew after it broke', async () => {
    vi.stubGlobal('WebAssembly', undefined)
    await expect(engine.rig(ask(1))).rejects.toThrow(NoEngine)
    vi.unstubAllGlobals()
    const broken = engine.rig(ask(1))
    await settled()
    thread.onerror?.({ message: 'no memory' } as ErrorEvent)
    await expect(broken).rejects.toThrow('The engine on this phone stopped: no memory')
    thread = new Fake()
    void engine.rig(ask(1))
    await settled()
    expect(thread.said.map((each) => Object.keys(each)[0])).toEqual(['base', 'tackle', 'id'])
  })
})
