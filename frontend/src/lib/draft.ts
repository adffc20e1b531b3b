// Half-made entries, kept while this tab lives: over Back, other screens and a reload, until they are
// logged or discarded.
//
//     const draft = drafted<Form>('log.fish')
//     let form = $state<Form>(draft.get() ?? { ...EMPTY })
//     $effect(() => draft.put($state.snapshot(form)))
//     // logged or discarded: draft.drop()
//
// What is put must survive JSON: figures, words, lists, plain objects. A draft of an older shape is
// the reader's to judge: check fields before use where the shape has changed.

export interface Draft<T> {
  /** What was half made, or null. */
  get(): T | null
  put(made: T): void
  /** Logged or discarded: nothing is kept. */
  drop(): void
}

const held = new Map<string, string>() // where the browser keeps nothing: as long as the page lives

/** The draft of this name ("room.form"); the same for all who ask. */
export function drafted<T>(name: string): Draft<T> {
  const key = `towscope.draft.${name}`
  return {
    get() {
      try {
        const text = held.get(key) ?? sessionStorage.getItem(key)
        return text === null ? null : (JSON.parse(text) as T)
      } catch {
        return null
      }
    },
    put(made) {
      const text = JSON.stringify(made)
      try {
        sessionStorage.setItem(key, text)
        held.delete(key)
      } catch {
        held.set(key, text)
      }
    },
    drop() {
      held.delete(key)
      try {
        sessionStorage.removeItem(key)
      } catch {
        // nothing is kept there anyway
      }
    },
  }
}
