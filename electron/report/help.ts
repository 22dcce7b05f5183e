import { FORMATS, PARTS } from './arguments.ts'

/** What `npm run report -- --help` prints: this command's documentation. */
export function helpText(): string {
  return `npm run report -- A.csv B.csv --out DIR

Compares two flights' logs, A before the change and B after it, and writes into DIR:
  report.json      flights, columns and units found, health, measures, verdict (its shape:
                   electron/report/format.ts)
  comparison.png   both flights, their spectrograms, the verdict and the numbers, at double size

Options
  --formats LIST     what is written beside report.json: ${FORMATS.join(', ')}; all; none (default png)
                       comparison.png, .svg    the picture
                       comparison.md, .txt     the same in words and tables, for pasting
                       comparison.html         the whole comparison as one page that needs nothing else
  --title TEXT       title of what is written (default: Before against after)
  --note TEXT        a note below the title: what was changed
  --theme NAME       light or dark picture (default light)
  --width PIXELS     the picture's width, 900 to 2400, drawn at double size (default 1200; forums also like 1600)
  --span FROM:TO     what is shown, in seconds of A's clock (default: all that both flights have)
  --with LIST, --without LIST
                     more or less on picture and text: ${PARTS.join(', ')} (usual: all but motors)
  --names            put the logs' file names on picture and text; without it they carry none
  --settings-a FILE, --settings-b FILE
                     settings sheets in any writing ("name = value", JSON, sections); without them, the sheets that
                     lie beside the logs under their names, or the lines above their tables. What differs is shown,
                     without what tells place, device, person or day; report.json has all of it, with
                     warnings (a jump of ten times, a gain at zero, an axis left out)
  --glossary FILE    a glossary as the window saves it: values outside of its ranges are warned of
  --library DIR      the window's data folder: what you noted of these two logs, known by their content, goes into
                     report.json (moments, changes with their kept verdicts), and its glossary holds; it is only read
  --card             writes field-card.txt and field-card.png: the moments of --library that are to be flown again
  --repeat FILE      another flight flown with A's very settings: what the two differ by is the floor of the verdict
  --repeat-of a|b    whose settings the repeat was flown with (default a)
  --excerpt FROM:TO  writes excerpt-a.csv and excerpt-b.csv: that part of A's clock of both logs, with their own
                     clocks from 0, units in the header, and columns that mean something to the program; no name,
                     no path, no day
  --excerpt-also NAME  one more column of the logs, by its name there; may be repeated
  --gzip             packs the excerpts (.csv.gz)
  --help             this text

report.json is for programs on this machine and names the files, with the names of all their columns.
Exit code 0 also when a column is missing (the report says what that costs), 2 with one plain line for a file that
can't be read or a request that can't be carried out.`
}
