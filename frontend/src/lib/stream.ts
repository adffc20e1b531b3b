export * from './stream.svelte'
