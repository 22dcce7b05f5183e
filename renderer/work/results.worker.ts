/// <reference lib="webworker" />
import { expose } from 'comlink'
import type { ResultAsked } from '../../electron/desk/contract/results.ts'
import { isProblem, type ProblemCode } from '../../workers/log/problems.ts'
import { call } from '../desk/client.ts'
import { resultFromText, resultText } from './result-text.ts'

/** What the desk had kept, or why that is not known: a Problem would lose its code on its way to the window. */
export type KeptResult =
  | { readonly value: unknown }
  | { readonly problem: { readonly code: ProblemCode; readonly message: string } }
  | null

/** Longer results are not worth keeping: reading them takes as long as computing. */
const MOST_CHARACTERS = 12_000_000

/** Results of analyses to and from their text, which takes tenths of a second for long ones. */
const api = {
  async get(asked: ResultAsked): Promise<KeptResult> {
    try {
      const { value: text } = await call('results.get', asked)
      return text === null ? null : decoded(text)
    } catch (error) {
      if (!isProblem(error)) throw error
      return { problem: { code: error.code, message: error.message } }
    }
  },
  async keep(asked: ResultAsked, value: unknown): Promise<void> {
    const text = resultText(value)
    if (text.length > MOST_CHARACTERS) return
    try {
      await call('results.keep', { ...asked, value: text })
    } catch (error) {
      // A full disk or a desk that is closing costs nothing but time when it is asked for again.
      if (!isProblem(error)) throw error
    }
  },
}
export type ResultsApi = typeof api

/** Null for text that is damaged or was written by another version. */
function decoded(text: string): KeptResult {
  try {
    return { value: resultFromText(text) }
  } catch (error) {
    if (error instanceof Error) return null
    throw error
  }
}

expose(api)
