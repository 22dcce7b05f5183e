/**
 * The shape of report.json, format 1. It is checked before it is written, so that a reader can rely on it.
 *
 * Rules for readers: unknown fields may be added within a format; a field's meaning or unit never changes without a
 * new format number. Every number carries its unit in its name or in a `unit` beside it. A figure that can't be
 * given is null, and `reason` beside it says why in a sentence.
 */
import * as v from 'valibot'
import { flight, measure } from './format-flight.ts'
import { axis, count, finite } from './format-parts.ts'
import { flightResponse } from './format-response.ts'

export type { ReportedResult } from './format-parts.ts'

export const REPORT_FORMAT = 1

export const reportSchema = v.object({
  format: v.literal(REPORT_FORMAT),
  program: v.literal('Twopack'),
  flights: v.object({ a: flight, b: flight }),
  alignment: v.object({
    /** Added to B's time to lie on A's. */
    offset_s: finite,
    by: v.nullable(v.string()),
    sure: v.picklist(['certain', 'likely', 'guess', 'none']),
    correlation: v.nullable(finite),
    sentence: v.string(),
  }),
  /**
   * The part of A's clock that was compared: as asked for, else where both flights have samples; null when they have
   * none together.
   */
  span: v.nullable(v.object({ t0_s: finite, t1_s: finite })),
  measures: v.array(measure),
  /** Responses and spectra over the common span; null when the flights do not overlap. */
  response: v.nullable(
    v.object({
      a: flightResponse,
      b: flightResponse,
      /** B less A over all cells of throttle and frequency that both flights hold. */
      noiseDifference: v.array(
        v.object({
          axis,
          overall_db: v.nullable(finite),
          reason: v.nullable(v.string()),
          cautions: v.array(v.string()),
        }),
      ),
    }),
  ),
  /** The verdict on the two whole flights, like for like: plain data of workers/verdict/comparison.ts. */
  verdict: v.object({
    word: v.string(),
    sentence: v.string(),
    reading: v.array(
      v.object({
        sentence: v.string(),
        standing: v.picklist(['measured', 'common practice']),
        caution: v.nullable(v.string()),
      }),
    ),
    pairs: count,
    /** Shares of the manoeuvres that have no like partner, 0..1. */
    unmatched: v.object({ a: finite, b: finite }),
    measures: v.array(
      v.object({
        key: v.string(),
        label: v.string(),
        axis: v.nullable(axis),
        unit: v.string(),
        headline: v.boolean(),
        /** From like-for-like pairs, or from one figure of each flight. */
        from: v.picklist(['pairs', 'flights']),
        a: v.nullable(finite),
        b: v.nullable(finite),
        /** b - a by Hodges and Lehmann over the pairs, or between the flights' own figures. */
        effect: v.nullable(finite),
        interval: v.nullable(v.object({ low: finite, high: finite, coverage: finite, covers: v.string() })),
        p: v.nullable(finite),
        adjustedP: v.nullable(finite),
        adjustment: v.nullable(v.picklist(['Holm', 'Benjamini-Hochberg', 'none'])),
        /** The smallest difference that matters, fixed beforehand. */
        delta: finite,
        /** What two flights of the same settings differ by; null without a repeat flight, or where it can't tell. */
        floor: v.nullable(finite),
        /** The same with its own interval (turned so that it holds the floor) and the pairs behind it; 0: whole flights. */
        floorRange: v.nullable(
          v.object({ size: finite, low: finite, high: finite, coverage: finite, pairs: count }),
        ),
        word: v.picklist(['better', 'worse', 'no clear difference', "can't tell"]),
        reason: v.string(),
        pairs: count,
        pairsNeeded: v.nullable(finite),
        cautions: v.array(v.string()),
      }),
    ),
    /** How alike the flying was; differences in standard deviations. */
    balance: v.array(
      v.object({
        axis: v.nullable(axis),
        input: v.string(),
        before: v.nullable(finite),
        after: v.nullable(finite),
      }),
    ),
    /** Inputs that took no part in pairing, with the reason. */
    notCompared: v.array(v.object({ input: v.string(), reason: v.string() })),
    /** The repeat flight that the floors come from; null without one. */
    repeat: v.nullable(
      v.object({
        /** Whose settings it was flown with. */
        of: v.picklist(['a', 'b']),
        file: v.string(),
        pairs: count,
        /** Measures that have a floor. */
        measures: count,
        method: v.object({ id: v.string(), version: count }),
      }),
    ),
    cautions: v.array(v.string()),
    method: v.object({ id: v.string(), version: count }),
  }),
  /** What differs between the settings, and warnings from their text alone; null where not both flights have a sheet. */
  settings: v.nullable(
    v.object({
      /** `difference` is b - a, `ratio` b / a; null where not both are single numbers, or a is 0. */
      changed: v.array(
        v.object({
          name: v.string(),
          a: v.string(),
          b: v.string(),
          difference: v.nullable(finite),
          ratio: v.nullable(finite),
        }),
      ),
      added: v.array(v.object({ name: v.string(), value: v.string() })),
      removed: v.array(v.object({ name: v.string(), value: v.string() })),
      unchanged: count,
      /** Lines that say no setting. */
      unread: v.object({ a: count, b: count }),
      /** What was changed, the same change on several axes as one. */
      things: v.array(v.string()),
      /** 'caution': flying it may hurt; 'check': probably a slip; 'note': good to know. */
      warnings: v.array(
        v.object({
          kind: v.string(),
          level: v.picklist(['caution', 'check', 'note']),
          names: v.array(v.string()),
          sentence: v.string(),
          reason: v.string(),
          standing: v.string(),
        }),
      ),
    }),
  ),
  /** What the pilot noted of these logs in the library that was given; null without one. */
  noted: v.nullable(
    v.object({
      /** Times are seconds of the log's own clock; `t1_s` is null for a time without length. */
      moments: v.array(
        v.object({
          places: v.array(
            v.object({ flight: v.picklist(['a', 'b']), t0_s: finite, t1_s: v.nullable(finite) }),
          ),
          tags: v.array(v.string()),
          note: v.string(),
          stars: count,
          flyAgain: v.boolean(),
          whatToFly: v.string(),
        }),
      ),
      /** Changes in which one of the logs was flown, with the verdict as it was kept; `before` and `after` are names. */
      changes: v.array(
        v.object({
          what: v.string(),
          why: v.string(),
          expectation: v.string(),
          note: v.string(),
          before: v.array(v.string()),
          after: v.array(v.string()),
          undone: v.boolean(),
          best: v.boolean(),
          verdict: v.nullable(
            v.object({
              word: v.string(),
              sentence: v.string(),
              pairs: count,
              a: v.string(),
              b: v.string(),
              method: v.object({ id: v.string(), version: count }),
            }),
          ),
        }),
      ),
    }),
  ),
  /** What to keep in mind when reading the numbers. */
  cautions: v.array(v.string()),
  /** Null when the PNG was not asked for, or the flights do not overlap. */
  picture: v.nullable(v.literal('comparison.png')),
  /**
   * Names of all files of this report, in its folder: 'report.json', 'comparison.png', '.svg', '.md', '.txt', '.html',
   * 'excerpt-a.csv', 'excerpt-b.csv' (with '.gz' when packed), 'field-card.txt', 'field-card.png'. An excerpt's first column is 'time (s)', the flight's
   * own clock; the others have their unit in brackets.
   */
  files: v.array(v.string()),
})
export type Report = v.InferOutput<typeof reportSchema>
