// What neither the compiler nor the formatter sees: promises that nobody waits for, state that is
// none, code that does nothing.
import js from '@eslint/js'
import svelte from 'eslint-plugin-svelte'
import { defineConfig, globalIgnores } from 'eslint/config'
import ts from 'typescript-eslint'

export default defineConfig(
  globalIgnores(['src/lib/schema.d.ts', 'src/lib/core/entries.ts']),
  js.configs.recommended,
  ts.configs.recommended,
  svelte.configs.recommended,
  svelte.configs.prettier,
  { files: ['**/*.svelte'], languageOptions: { parserOptions: { parser: ts.parser } } },
  {
    // svelte-check knows the types of what is in a page; this parser would take half of them for any
    files: ['src/**/*.ts'],
    extends: [ts.configs.recommendedTypeCheckedOnly],
    languageOptions: { parser: ts.parser, parserOptions: { projectService: true } },
  },
  {
    rules: {
      'no-undef': 'off', // the compiler knows better
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
      '@typescript-eslint/require-await': 'off', // what keeps a promise may have nothing to wait for
      'svelte/no-useless-mustaches': 'off', // a space that must stay is written as one
      'svelte/no-unused-svelte-ignore': 'off', // svelte-check warns of it, too, and compiles only once
      'svelte/prefer-svelte-reactivity': 'off', // takes a list made within a function for state
    },
  },
)
