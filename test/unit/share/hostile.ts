/**
 * Texts as nobody should give them: in notes, names, tags, settings and headers they are to be shown as they are, and
 * to do nothing. `letters` is a part of each that must still be there when it is shown.
 */
export const HOSTILE: readonly { readonly what: string; readonly text: string; readonly letters: string }[] =
  [
    { what: 'a script', text: '<script>alert(1)</script>', letters: 'alert(1)' },
    { what: 'a closing tag', text: '</title></style></svg><script>alert(2)</script>', letters: 'alert(2)' },
    { what: 'an attribute', text: '" onload="alert(3)', letters: 'onload' },
    { what: 'single quotes', text: "' onerror='alert(4)", letters: 'onerror' },
    { what: 'an image', text: '<img src=x onerror=alert(5)>', letters: 'src=x' },
    { what: 'an entity', text: '&lt;b&gt; &amp; &#60;i&#62;', letters: 'b' },
    { what: 'a CDATA end', text: ']]><svg onload=alert(6)>', letters: 'svg' },
    { what: 'a comment', text: '--><script>alert(7)</script><!--', letters: 'alert(7)' },
    { what: 'a Markdown link', text: '[press](javascript:alert(8))', letters: 'press' },
    { what: 'a Markdown picture', text: '![x](https://example.invalid/track.png)', letters: 'track.png' },
    { what: 'a bare address', text: 'see https://example.invalid/a www.example.invalid', letters: 'example' },
    { what: 'a table break', text: 'gain | 9 |\n| --- |\n| x', letters: 'gain' },
    { what: 'code and emphasis', text: '`rm -rf` **bold** _it_ ~~no~~ $x$', letters: 'bold' },
    { what: 'a heading', text: '# Heading\n\n- item', letters: 'Heading' },
    { what: 'a formula', text: '=HYPERLINK("http://example.invalid","x")', letters: 'HYPERLINK' },
    { what: 'a command', text: "@SUM(1+1)*cmd|' /C calc'!A0", letters: 'SUM' },
    { what: 'a turned direction', text: 'safe\u202egpj.exe', letters: 'gpj.exe' },
    { what: 'a zero byte', text: 'a\u0000b\u0007c', letters: 'b' },
    { what: 'a lone surrogate', text: 'x\ud800y', letters: 'y' },
    { what: 'template signs', text: '${alert(9)} {{7*7}} <%= 1 %>', letters: '7' },
    { what: 'a new page', text: 'one\u2028two\u0085three\ftwo', letters: 'three' },
  ]

/** All of it in one text. */
export const ALL_HOSTILE = HOSTILE.map(({ text }) => text).join(' ')
