// What lies over the screen (a sheet, a panel) is one step of the browser's history: the phone's Back
// takes it away instead of leaving the screen. One mechanism for all; `Sheet` uses it already.
//
// Elsewhere, in a component, with `open` as its state:
//
//     $effect(() => {
//       if (open) return over(() => (open = false))
//     })
//
// The effect's own end (closed by a button, or the screen is left) takes the step back. Several may
// lie over one another: Back takes the topmost. To be kept over Back and reload, what was typed
// belongs in a draft (draft.ts). A screen is left by `go` (route.svelte.ts) or by a plain link.

interface Layer {
  close: () => void
}

const layers: Layer[] = []
let travelling = false // a step back of our own is on its way
let due: ReturnType<typeof setTimeout> | undefined
let waiting: (() => void)[] = []

function steps(): number {
  const said: unknown = history.state
  const over = said && typeof said === 'object' && 'over' in said ? said.over : 0
  return typeof over === 'number' && over > 0 ? over : 0
}

/** Puts a layer over the screen; `close` is called where Back takes it. Gives what ends it. */
export function over(close: () => void): () => void {
  const layer: Layer = { close }
  layers.push(layer)
  later()
  return () => {
    const at = layers.indexOf(layer)
    if (at < 0) return
    layers.splice(at, 1)
    later()
  }
}

/** Whether something lies over the screen: the crew is at it. */
export function covered(): boolean {
  return layers.length > 0
}

/** Does something once no step back of our own is on its way: it would undo a change of screen. */
export function still(done: () => void): void {
  if (travelling) waiting.push(done)
  else done()
}

// In a task of its own: what closes one layer often opens another or goes to another screen, and a
// pressed link is followed only after its handlers.
function later(): void {
  clearTimeout(due)
  due = setTimeout(settle)
}

// History gets as many steps as there are layers.
function settle(): void {
  if (travelling) return
  const now = steps()
  if (now > layers.length) {
    travelling = true
    history.go(layers.length - now)
  }
  for (let k = now + 1; k <= layers.length; k++) history.pushState({ over: k }, '')
}

function moved(): void {
  const ours = travelling
  travelling = false
  if (!ours) {
    for (const layer of layers.splice(steps()).reverse()) layer.close()
  }
  const ready = waiting
  waiting = []
  for (const done of ready) done()
  later()
}

addEventListener('popstate', moved)
addEventListener('hashchange', () => {
  if (!travelling) moved()
})
later() // opened anew with a layer's step on top: there is no layer, so neither is there a step
