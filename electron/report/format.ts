/**
 * The shape of report.json, format 1. It is checked before it is written, so that a reader can rely on it.
 *
 * Rules for readers: unknown fields may be added within a format; a field's meaning or unit never changes without a
 * new format number. Every number carries its unit in its name or in a `unit` beside it. A figure that can't be
 * given is null, and `reason` beside it says why in a sentence.
 */
import * as v from 'valibot'
import { SHOWN_SIGNALS } from '../../workers/comparison/shown-signals.ts'
import {
  roleSchema,
  clockReportSchema,
  dialectSchema,
  noticeSchema,
  unitIdSchema,
} from '../desk/contract/schemas.ts'

export const REPORT_FORMAT = 1

const finite = v.pipe(v.number(), v.finite())
const count = v.pipe(v.number(), v.integer(), v.minValue(0))
const axis = v.picklist(['roll', 'pitch', 'yaw'])

/** A number with its reason: exactly one of the two is null. */
const measured = v.object({ value: v.nullable(finite), reason: v.nullable(v.string()) })

/** What a column was taken to mean, and how that was decided. */
const column = v.object({
  role: roleSchema,
  /** Number of the column in the file, from 0, and its name there. */
  column: count,
  name: v.string(),
  unit: unitIdSchema,
  /** The unit as people write it. */
  unitLabel: v.string(),
  sign: v.picklist([1, -1]),
  sure: v.picklist(['certain', 'likely', 'guess']),
  how: v.string(),
})

/** One axis of one flight over its whole length. */
const wholeAxis = v.object({
  axis,
  gyroRms_dps: measured,
  trackingErrorRms_dps: measured,
  lag_ms: measured,
  /** Frequency of the highest bin of the gyro's Welch density (Hann, 256 samples, half overlap), without 0 Hz. */
  gyroPeak_hz: measured,
})

const flight = v.object({
  file: v.object({ name: v.string(), bytes: count, sha256: v.string() }),
  dialect: dialectSchema,
  rows: count,
  duration_s: finite,
  /** (N-1)/(tN-t1) */
  rate_hz: finite,
  clock: clockReportSchema,
  columns: v.array(column),
  /** Names of the columns that were given no meaning. */
  unassigned: v.array(v.string()),
  /** The log's health; `cost` says what can't be given because of it. */
  health: v.array(noticeSchema),
  whole: v.array(wholeAxis),
})

/** One measure of one axis for both flights over the common span. */
const measure = v.object({
  measure: v.picklist(['tracking error RMS', 'lag', 'gyro RMS']),
  axis,
  unit: v.string(),
  a: measured,
  b: measured,
  /** b - a; null when either is. */
  difference: v.nullable(finite),
  better: v.picklist(['lower', 'higher', 'neither']),
})

/** A result of an analysis with all that belongs to it; see workers/signal/result.ts. */
const reportedResult = v.object({
  value: v.nullable(finite),
  unit: v.nullable(v.string()),
  interval: v.nullable(
    v.object({
      low: finite,
      high: finite,
      /** Probability that it holds the truth, as far as `covers` goes. */
      coverage: finite,
      covers: v.picklist(['sampling error only', 'sampling error and estimated bias']),
    }),
  ),
  /** Why there is no value; null when there is one. */
  reason: v.nullable(v.string()),
  method: v.object({ id: v.string(), version: count }),
  samples: count,
  segments: v.nullable(finite),
  cautions: v.array(v.string()),
  exclusions: v.array(v.object({ what: v.string(), share: finite })),
})
export type ReportedResult = v.InferOutput<typeof reportedResult>

/** Figures of an estimated step response; of a refused one each figure with the reason. */
const stepFigures = v.array(v.object({ figure: v.string(), ...reportedResult.entries }))

/** What one logged signal holds over frequency; null parts with the reason. */
const signalSpectrum = v.object({
  signal: v.picklist(SHOWN_SIGNALS),
  /** Of the samples; 'as logged' for a controller's terms, 'full' for motors' shares. */
  unit: v.string(),
  /** Root mean square by bands, in that unit, from the Welch density; null with the reason. */
  bands: v.nullable(v.array(v.object({ from_hz: finite, to_hz: finite, rms: finite }))),
  segments: v.nullable(count),
  reason: v.nullable(v.string()),
})

/** One axis' results of each flight's events. */
const byAxis = v.array(v.object({ axis, ...reportedResult.entries }))

/** Lines of rotors and blades: where they are in the air, and where a log of this rate shows them. */
const rotorLines = v.object({
  /** From logged speeds, or found in the noise as the strongest line that rises with throttle; null: none. */
  from: v.nullable(v.picklist(['logged', 'found'])),
  sentence: v.nullable(v.string()),
  reason: v.nullable(v.string()),
  /** What logged speeds were divided by. */
  polePairs: v.nullable(count),
  lines: v.array(
    v.object({
      name: v.string(),
      f_hz: finite,
      low_hz: finite,
      high_hz: finite,
      shown_hz: finite,
      folded: v.boolean(),
    }),
  ),
  cautions: v.array(v.string()),
  method: v.object({ id: v.string(), version: count }),
})

/** Group delay of the filters that the flight's settings describe, together per place in the loop. */
const filterDelays = v.object({
  reason: v.nullable(v.string()),
  places: v.array(
    v.object({
      place: v.string(),
      filters: v.array(v.string()),
      /** Of slow movements, and at 50 Hz. */
      slow: reportedResult,
      busy: reportedResult,
    }),
  ),
})

/** How one axis of one flight answers to its setpoint over the common span. */
const axisResponse = v.object({
  axis,
  /** rise (10-90 %), fullRise (0-100 %), half, peak, overshoot, settle2, settle5: of the estimated step response. */
  step: stepFigures,
  /** The same figures by themselves for demands up to split_dps and beyond. */
  byDemand: v.object({ split_dps: finite, small: stepFigures, large: stepFigures }),
  /** From the unfiltered to the filtered gyro, where both are logged: delay of slow movements, and the -3 dB point. */
  gyroFilters: v.object({ delay: reportedResult, corner: reportedResult }),
  closedLoop: v.object({
    bandwidth: reportedResult,
    resonance: reportedResult,
    resonanceAt: reportedResult,
    phaseDelay: reportedResult,
    /** Above this the setpoint does not explain the gyro. */
    lastCoherent_hz: v.nullable(finite),
  }),
  /** How long the gyro comes after the setpoint: the best correlation, and the slope of the phase as second opinion. */
  lag: v.object({ byCorrelation: reportedResult, byPhase: reportedResult }),
  /** In windows along the flight's own clock, their middles: setpoint minus gyro, and the lag; null where none can be told. */
  overTime: v.object({
    error: v.array(v.object({ t_s: finite, rms_dps: v.nullable(finite), bias_dps: v.nullable(finite) })),
    lag: v.array(v.object({ t_s: finite, lag_ms: v.nullable(finite) })),
    windows: v.object({ error_s: finite, lag_s: finite }),
    reason: v.nullable(v.string()),
    method: v.object({ id: v.string(), version: count }),
  }),
  /** Parts of the mean square of setpoint minus gyro; they add up to the total. */
  errorBudget: v.object({
    parts: v.nullable(
      v.object({ offset: finite, delay: finite, gain: finite, shape: finite, residual: finite }),
    ),
    total: v.nullable(finite),
    unit: v.string(),
    reason: v.nullable(v.string()),
    samples: count,
    exclusions: v.array(v.object({ what: v.string(), share: finite })),
    method: v.object({ id: v.string(), version: count }),
  }),
  /** Lines that stand out of the gyro's spectrum, strongest first; dB re 1 (deg/s)^2/Hz. */
  lines: v.array(v.object({ f_hz: finite, level_db: finite, prominence_db: finite })),
  signals: v.array(signalSpectrum),
})

const flightResponse = v.object({
  axes: v.array(axisResponse),
  /** Share of the time in which any motor stood within one step of its highest and its lowest command. */
  headroom: v.object({ atTop: reportedResult, atIdle: reportedResult }),
  /** Our own definitions: root mean square turn away from the setpoint over punches and chops; shaking after drops. */
  throttle: v.object({
    punches: count,
    chops: count,
    drops: count,
    drift: byAxis,
    propWash: byAxis,
  }),
  rotors: rotorLines,
  filterDelays,
})

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
