import { untrack } from 'svelte'
import type { DrawnFlight } from '../../workers/comparison/ranges.ts'
import { USUAL_TITLE } from '../../workers/comparison/picture-parts.ts'
import { AXES } from '../../workers/flight/axes.ts'
import { isProblem } from '../../workers/log/problems.ts'
import type { ComparisonPicture } from '../../workers/picture/model.ts'
import { buildDocument } from '../../workers/share/build-document.ts'
import { changedSettings } from '../../workers/share/changed-settings.ts'
import type { ShareDocument } from '../../workers/share/document.ts'
import type { Pair } from '../../workers/verdict/comparison.ts'
import { sheetOfFlight } from '../../workers/settings/sheet-of-flight.ts'
import type { Comparison } from '../compare/comparison.svelte.ts'
import type { LoadedFlight } from '../compare/load-flight.ts'
import { theme } from '../theme/theme.svelte.ts'
import { spanOfPair } from '../verdict/pair-span.ts'
import { Latest } from '../work/latest.ts'
import { comparisonWorkers } from '../work/workers.ts'
import { keepChoices, keepWords, loadChoices, loadWords, usualChoices, type SpanChoice } from './choices.ts'
import {
  computeSpan,
  drawPage,
  drawPng,
  drawSvg,
  wordsOf,
  type ShownSpan,
  type SpanNumbers,
} from './picture.ts'

/** What is to be shared of a comparison, the picture of it, and its words. */
export class Share {
  readonly comparison: Comparison
  choices = $state(usualChoices(theme.current))
  title = $state('')
  note = $state('')
  /** The pair that is shown while the span is 'pair'; null takes the one with the largest difference. */
  pair = $state.raw<Pair | null>(null)
  /** False until what was kept has been read: nothing is kept before. */
  ready = $state(false)

  drawing = $state(false)
  problem = $state('')
  said = $state('')
  png = $state.raw<{ readonly blob: Blob; readonly url: string } | null>(null)
  /** Words and tables of what the picture shows. */
  short = $state.raw<ShareDocument | null>(null)
  /** Words and tables of all that is known. */
  whole = $state.raw<ShareDocument | null>(null)

  #numbers: { readonly key: string; readonly found: SpanNumbers } | null = null
  #asked = 0
  readonly #stop = new AbortController()
  readonly #latest = new Latest(200)
  readonly #keeping = new Latest(400)

  constructor(comparison: Comparison) {
    this.comparison = comparison
  }

  readonly pairs = $derived.by(() => this.comparison.verdict.found?.pairs ?? [])
  /** Why a span can't be chosen; '' where it can. */
  readonly lacks: Readonly<Record<SpanChoice, string>> = $derived.by(() => {
    const [one, other] = this.comparison.marks_s
    return {
      visible: '',
      whole: '',
      marked: one === null || other === null || one === other ? 'set both marks side by side first' : '',
      pair: this.pairs.length === 0 ? 'no pairs of like manoeuvres' : '',
    }
  })
  readonly spanChoice: SpanChoice = $derived(
    this.lacks[this.choices.span] === '' ? this.choices.span : 'visible',
  )
  /** What is shown of the flights. */
  readonly span: ShownSpan = $derived.by(() => {
    const { comparison } = this
    const { view, offset_s, marks_s, verdict } = comparison
    const own = { offset_s, laid: '' }
    if (this.spanChoice === 'whole') return { ...view.whole, ...own }
    if (this.spanChoice === 'marked') {
      const [one, other] = marks_s as [number, number]
      return { t0_s: Math.min(one, other), t1_s: Math.max(one, other), ...own }
    }
    const pair = this.pair ?? this.pairs[0]
    const seen = this.spanChoice === 'pair' && pair && verdict.found ? spanOfPair(verdict.found, pair) : null
    if (!seen || !pair) return { ...view.span, ...own }
    return { ...seen.span, offset_s: seen.offset_s, laid: `to lie over A at this pair, ${pair.name}.` }
  })
  /** Settings that differ, less what tells who or where; null when a flight has none. */
  readonly settings = $derived.by(() => {
    const { a, b } = this.comparison
    if (!a || !b) return null
    return changedSettings(sheetOfFlight(a.detail).settings, sheetOfFlight(b.detail).settings)
  })
  readonly fileName: string = $derived.by(() => {
    const { a, b } = this.comparison
    return this.choices.parts.names && a && b ? `${a.detail.name} vs ${b.detail.name}` : 'comparison'
  })

  /** Reads what was kept. */
  async open(): Promise<void> {
    const { a, b } = this.comparison
    if (!a || !b) throw new Error('sharing needs both flights')
    void this.comparison.verdict.begin(a, b)
    await this.#orSay(async () => {
      // What the pilot has begun to choose or write meanwhile is newer than what was kept.
      const usual = JSON.stringify(this.choices)
      const choices = await loadChoices(theme.current)
      if (JSON.stringify(this.choices) === usual) this.choices = choices
      const words = await loadWords(a.detail.contentHash, b.detail.contentHash)
      this.title ||= words.title
      this.note ||= words.note
    })
    this.ready = true
  }

  close(): void {
    this.#latest.drop()
    this.#stop.abort()
    if (this.png) URL.revokeObjectURL(this.png.url)
  }

  /** Keeps what was chosen. Reads everything that is kept, so that an effect runs again when any of it changes. */
  keep(): void {
    const choices = $state.snapshot(this.choices)
    const words = { title: this.title, note: this.note }
    const { a, b } = this.comparison
    if (!this.ready || !a || !b) return
    this.#keeping.ask(() =>
      this.#orSay(async () => {
        await keepChoices(choices)
        await keepWords(a.detail.contentHash, b.detail.contentHash, words)
      }),
    )
  }

  /** Draws what is chosen, once it has settled. An effect runs it: it reads all that the picture depends on. */
  draw(): void {
    const { span, settings, title, note, comparison } = this
    const choices = $state.snapshot(this.choices)
    const verdict = comparison.verdict.found
    const range_db = comparison.range_db
    if (!this.ready) return
    untrack(() => (this.drawing = true))
    const asked = ++this.#asked
    this.#latest.ask(() =>
      this.#orSay(async () => {
        try {
          const model = await this.#model(choices, span, { settings, title, note, verdict, range_db })
          const told = choices.parts.verdict ? verdict : null
          const short = buildDocument(model, told, 'short')
          const whole = buildDocument(model, told, 'whole')
          const bytes = await drawPng(model, this.#stop.signal)
          if (this.png) URL.revokeObjectURL(this.png.url)
          const blob = new Blob([bytes], { type: 'image/png' })
          this.png = { blob, url: URL.createObjectURL(blob) }
          this.short = short
          this.whole = whole
          this.problem = ''
        } finally {
          // What was chosen meanwhile is still to be drawn: nobody may save what is out of date.
          if (asked === this.#asked) this.drawing = false
        }
      }),
    )
  }

  /** The picture as SVG; null when that failed, which is then said. */
  async svg(): Promise<string | null> {
    return this.#made(async (model) => drawSvg(model, this.#stop.signal))
  }

  /** The whole comparison as an HTML file; null when that failed, which is then said. */
  async page(): Promise<string | null> {
    const told = this.choices.parts.verdict ? this.comparison.verdict.found : null
    return this.#made(async (model) =>
      drawPage(model, buildDocument(model, told, 'whole'), this.#stop.signal),
    )
  }

  async #made(make: (model: ComparisonPicture) => Promise<string>): Promise<string | null> {
    const { span, settings, title, note, comparison } = this
    const { range_db } = comparison
    let made: string | null = null
    await this.#orSay(async () => {
      const given = { settings, title, note, verdict: comparison.verdict.found, range_db }
      made = await make(await this.#model($state.snapshot(this.choices), span, given))
    })
    return made
  }

  async #model(
    { parts, theme: look, width_px }: Share['choices'],
    span: ShownSpan,
    given: {
      readonly settings: Share['settings']
      readonly title: string
      readonly note: string
      readonly verdict: Comparison['verdict']['found']
      readonly range_db: Comparison['range_db']
    },
  ): Promise<ComparisonPicture> {
    const { a, b, alignment } = this.comparison
    if (!a || !b || !alignment) throw new Error('a picture needs both flights')
    const axes = AXES.filter((axis) => parts.axes.includes(axis))
    const { t0_s, t1_s, offset_s, laid } = span
    const lanes = parts.spectrograms ? axes : []
    const key = JSON.stringify([t0_s, t1_s, offset_s, lanes])
    if (this.#numbers?.key !== key)
      this.#numbers = { key, found: await computeSpan(a, b, span, lanes, this.#stop.signal) }
    const request = {
      ...{ a: drawnOf(a), b: drawnOf(b), alignment, offset_s, laid, t0_s, t1_s, width_px },
      ...this.#numbers.found,
      title: given.title.trim() === '' ? USUAL_TITLE : given.title,
      note: given.note,
      theme: look,
      words: { a: wordsOf(a.detail), b: wordsOf(b.detail) },
      // A pair is short: its levels are its own.
      range_db: laid === '' ? given.range_db : null,
      verdict: given.verdict,
      settings: given.settings,
      parts: { ...parts, axes },
    }
    return comparisonWorkers.run((worker) => worker.picture(request), this.#stop.signal)
  }

  async #orSay(work: () => Promise<void>): Promise<void> {
    try {
      await work()
    } catch (error) {
      if (!isProblem(error)) throw error
      if (error.code !== 'cancelled') this.problem = error.message
    }
  }
}

/** What a picture is drawn from, without what the logbook knows of a flight. */
const drawnOf = ({ signals, pyramids }: LoadedFlight): DrawnFlight => ({ signals, pyramids })
