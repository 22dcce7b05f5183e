import { escapeXml } from '../picture/svg-context.ts'
import { plainLine } from '../picture/text.ts'
import { type Palette, PALETTES } from '../picture/theme.ts'
import { base64 } from '../text/base64.ts'
import { isWordy, type Block, type ShareDocument, type TableBlock } from './document.ts'

/** The comparison picture as PNG bytes, for light and dark screens, and what it shows in words. */
export interface PagePicture {
  readonly light: Uint8Array
  readonly dark: Uint8Array
  readonly width_px: number
  readonly height_px: number
  readonly alt: string
}

/**
 * A document as one HTML file that needs nothing else: no script, no address, pictures inside, light or dark as the
 * reader's system, fit for printing. Its own content policy forbids everything but its pictures and its one style.
 */
export async function htmlPage(document: ShareDocument, picture: PagePicture | null): Promise<string> {
  const title = text(document.title)
  const policy = [
    "default-src 'none'",
    'img-src data:',
    `style-src 'sha256-${await sha256(STYLE)}'`,
    "base-uri 'none'",
    "form-action 'none'",
  ].join('; ')
  return [
    '<!doctype html>',
    '<html lang="en">',
    '<head>',
    '<meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="${policy}">`,
    '<meta name="referrer" content="no-referrer">',
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    '<meta name="color-scheme" content="light dark">',
    `<title>${title}</title>`,
    `<style>${STYLE}</style>`,
    '</head>',
    '<body>',
    '<main>',
    `<h1>${title}</h1>`,
    ...document.blocks.map((block, index) => htmlOf(block, document.blocks[index - 1], picture)),
    '</main>',
    '</body>',
    '</html>',
    '',
  ].join('\n')
}

/** What stands for the picture where it can't be seen: the tables hold its numbers. */
export const altOf = (title: string): string =>
  `Comparison picture: ${plainLine(title)}. Its numbers stand in the tables of this page.`

const text = (words: string): string => escapeXml(plainLine(words))

function htmlOf(block: Block, before: Block | undefined, picture: PagePicture | null): string {
  switch (block.kind) {
    case 'heading':
      return `<h2>${text(block.text)}</h2>`
    case 'paragraph':
      return block.tone === 'plain'
        ? `<p>${text(block.text)}</p>`
        : `<p class="${block.tone}">${text(block.text)}</p>`
    case 'list':
      return `<ul>\n${block.items.map((item) => `<li>${text(item)}</li>`).join('\n')}\n</ul>`
    case 'table':
      return tableOf(block, before?.kind === 'heading' && before.text.startsWith(block.caption))
    case 'picture':
      return picture ? pictureOf(picture) : ''
  }
}

/**
 * In a region of its own, which can be scrolled by keyboard where the screen is narrow.
 * @param isTitled true where the heading above says what the caption says
 */
function tableOf(block: TableBlock, isTitled: boolean): string {
  const { caption, head, rows, numbers } = block
  const name = text(caption)
  const kind = (index: number): string =>
    numbers.includes(index) ? ' class="number"' : isWordy(block, index) ? ' class="words"' : ''
  const flight = (cell: string): string => (cell === 'A' ? ' a' : cell === 'B' ? ' b' : '')
  const heads = head.map((cell, index) => {
    const classes = `${numbers.includes(index) ? 'number' : ''}${flight(cell)}`.trim()
    return `<th scope="col"${classes === '' ? '' : ` class="${classes}"`}>${text(cell)}</th>`
  })
  const lines = rows.map(
    ([first = '', ...cells]) =>
      `<tr><th scope="row"${isWordy(block, 0) ? ' class="words"' : ''}>${text(first)}</th>${cells.map((cell, index) => `<td${kind(index + 1)}>${text(cell)}</td>`).join('')}</tr>`,
  )
  return [
    `<div class="table" role="region" aria-label="${name}" tabindex="0">`,
    '<table>',
    `<caption${isTitled ? ' class="titled"' : ''}>${name}</caption>`,
    `<thead><tr>${heads.join('')}</tr></thead>`,
    `<tbody>\n${lines.join('\n')}\n</tbody>`,
    '</table>',
    '</div>',
  ].join('\n')
}

function pictureOf({ light, dark, width_px, height_px, alt }: PagePicture): string {
  const address = (png: Uint8Array): string => `data:image/png;base64,${base64(png)}`
  return [
    '<figure><picture>',
    `<source media="screen and (prefers-color-scheme: dark)" srcset="${address(dark)}">`,
    `<img src="${address(light)}" width="${width_px}" height="${height_px}" alt="${escapeXml(alt)}">`,
    '</picture></figure>',
  ].join('\n')
}

async function sha256(words: string): Promise<string> {
  return base64(new Uint8Array(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(words))))
}

const variables = ({ background, stripe, frame, text: ink, muted, flight }: Palette): string =>
  `--paper:${background};--stripe:${stripe};--rule:${frame};--ink:${ink};--soft:${muted};--a:${flight.a};--b:${flight.b}`

/** The page's whole look. Nothing that was given stands in it, so that its hash is the same for every page. */
const STYLE = `
:root{color-scheme:light dark;${variables(PALETTES.light)}}
@media (prefers-color-scheme:dark){:root{${variables(PALETTES.dark)}}}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 system-ui,"DejaVu Sans",sans-serif;font-variant-numeric:tabular-nums}
main{max-width:80rem;margin:0 auto;padding:1.5rem}
h1{font-size:1.6rem;line-height:1.25;margin:0 0 1rem}
h2{font-size:1.15rem;margin:2rem 0 .5rem}
h1,h2,p,li{overflow-wrap:anywhere}
p{margin:.5rem 0;max-width:60rem}
.lead{font-size:1.15rem;font-weight:600}
.care{padding:.6rem .8rem;border:1px solid var(--rule);border-left:5px solid var(--b);font-weight:600}
figure{margin:1.5rem 0}
img{max-width:100%;height:auto;border:1px solid var(--rule)}
.table{position:relative;overflow-x:auto}
.table:focus-visible{outline:2px solid var(--a);outline-offset:2px}
table{border-collapse:collapse;font-size:.9rem;min-width:40%}
caption{text-align:left;color:var(--soft);padding:.2rem 0;font-size:.85rem}
.titled{position:absolute;width:1px;height:1px;padding:0;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
th,td{max-width:30rem;overflow-wrap:break-word;padding:.25rem .6rem;border-top:1px solid var(--rule);text-align:left;vertical-align:top}
thead th{border-top:0;color:var(--soft);font-weight:600}
thead th.a{border-bottom:3px solid var(--a)}
thead th.b{border-bottom:3px dashed var(--b)}
tbody th{font-weight:500}
tbody tr:nth-child(odd){background:var(--stripe)}
td{min-width:3rem}
.words{min-width:12rem}
tbody th.words{min-width:9.5rem}
.number{text-align:right;white-space:nowrap}
@media print{
:root{color-scheme:light;${variables(PALETTES.light)}}
main{max-width:none;padding:0}
body{font-size:10pt}
h2{break-after:avoid}
tr,figure,.care{break-inside:avoid}
.table{overflow:visible}
table{font-size:8pt;width:100%}
th,td{min-width:0;max-width:none;padding:.15rem .3rem}
.words{min-width:9rem}
tbody th.words{min-width:7rem}
.number{white-space:normal}
@page{margin:12mm}
thead{display:table-header-group}
}
`
