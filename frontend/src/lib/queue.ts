export * from './queue.svelte'
