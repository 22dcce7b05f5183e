/** A stretch of a flight, seconds from its start. */
export interface Span {
  readonly start_s: number
  readonly end_s: number
}

/** Turns a condition watched step by step into spans; spans closer than `join_s` become one. */
export class SpanRecorder {
  readonly spans: Span[] = []
  private readonly join_s: number
  private from_s = 0
  private open = false

  constructor(join_s: number) {
    this.join_s = join_s
  }

  watch(t_s: number, holds: boolean): void {
    if (holds === this.open) return
    if (holds) {
      this.open = true
      this.from_s = t_s
    } else this.finish(t_s)
  }

  /** Ends a span that is still running. */
  finish(t_s: number): void {
    if (!this.open) return
    this.open = false
    const last = this.spans.at(-1)
    if (last !== undefined && this.from_s - last.end_s < this.join_s)
      this.spans[this.spans.length - 1] = { start_s: last.start_s, end_s: t_s }
    else this.spans.push({ start_s: this.from_s, end_s: t_s })
  }
}

/** Time within spans, seconds. */
export function totalTime_s(spans: readonly Span[]): number {
  return spans.reduce((sum, span) => sum + span.end_s - span.start_s, 0)
}
