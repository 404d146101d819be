package main

// command is one verb of the program.
type command struct {
	name  string
	usage string
	do    func(p *program, args []string) (status int, err error)
}

var commands []command

// The usage texts refer to the commands and the commands to the usage texts.
func init() {
	commands = []command{
		{"check", checkUsage, check},
		{"convert", convertUsage, convert},
		{"review", reviewUsage, review},
		{"explain", explainUsage, explain},
		{"swatch", swatchUsage, swatch},
		{"mark", markUsage, mark},
		{"publish", publishUsage, publish},
	}
}

const usage = `gaugewright keeps the numbers of a knitting pattern true at another gauge, in another size, for another wearer.

  gaugewright check DRAFT...           does the draft's own arithmetic hold?
      gaugewright check pullover.md
  gaugewright convert DRAFT            the same pattern at another gauge, for another size
      gaugewright convert pullover.md --gauge "18 sts and 25 rows to 10 cm" --out pullover-aran/
  gaugewright review OLD NEW           what changed between two versions of a draft
      gaugewright review pullover.md pullover-aran/draft.md
  gaugewright explain DRAFT NAME...    why these numbers
      gaugewright explain pullover.md back --gauge "18 sts and 25 rows to 10 cm"
  gaugewright swatch CARD [DRAFT]      what a swatch says, and what to do about it
      gaugewright swatch otter-blue.md pullover.md --size M
  gaugewright mark DRAFT               braces round the instructions of a pattern that has none yet
      gaugewright mark plain.md --out live.md
  gaugewright publish DRAFT            one pattern at many gauges: pages, and an index to choose from
      gaugewright publish pullover.md --gauge "18 to 24 sts and 25 to 32 rows to 10 cm" --out shop/

"gaugewright COMMAND --help" tells the options of one. "-" is standard input or output.

Exit status: 0 done; 1 done, and something was found that a person must look at; 2 the input or the options are wrong and
nothing was written.
`

const checkUsage = `gaugewright check DRAFT...

Works the draft row by row at its own gauge, in each of its sizes, and tells where a count does not follow from those
before it. What is wrong, and what is worth a look, goes to standard error; what was checked goes to standard output.

  --to json       the findings as data, on standard output: one object for each draft
  --out PATH      a file for that data

Example:
  gaugewright check pullover.md vest.md

Exit status: 0 the sums hold (there may be notes and warnings); 1 some do not; 2 a draft could not be read.
`

const whatFor = `  --gauge TEXT    the new gauge, "18 sts and 25 rows to 10 cm", of the draft's first fabric; of another one with its name
                  before it: "rib: 22 sts and 30 rows to 10 cm". May be repeated. Without rows, "18 sts to 10 cm", the
                  draft's ratio of rows to stitches is kept, and the result says that this was assumed
                  The second of a pair may have its own: "second sleeve: …" of what is made twice, or by the name that it is
                  worked by as the other, "right front: …". Its numbers are then told by themselves, at the end
  --swatch CARD   the gauges from a swatch card, washed where that was measured; --gauge goes before it. Copies to knit from
                  then tell, for each length, its rows and how long it is on the needles, before washing
  --tighter TEXT  a place that comes out tighter than the first fabric and was not swatched, "sleeve 4%". May be repeated;
                  the result says that it was assumed
  --size NAME     one of the draft's sizes; may be repeated. Without it, all of them
  --body CARD     a wearer's measurements, from a file with a body block; the result has one size, named after the card
  --measure TEXT  one measurement, "chest = 93 cm"; goes before the card's. May be repeated
  --pin TEXT      a number that must come out as said, "back = 98". May be repeated
  --knitted NAME  everything before this label or heading is on the needles already and stays as it is; the result tells
                  what it measures, what it makes the whole miss, and how far to rip back to mend that. It is taken to have
                  the new gauge; where the tension changed on the way, "NAME as drafted" or "NAME at 22 sts and 30 rows to
                  10 cm" says its own
`

const convertUsage = `gaugewright convert DRAFT

Re-derives the pattern. Without an option it gives the draft as it is.

` + whatFor + `  --to FORM       draft (the notation with new numbers; the default), markdown (a copy to knit from), html (a page) or
                  json (data). Without it, a file called *.html or *.json has that form
  --out PATH      a file, or a folder for everything at once: draft.md, pattern.md, pattern.html, changes.diff,
                  changes.html and changes.json. A folder is one that exists, a name with a closing slash, or, where
                  --to is not given, a name without an extension. Without it, standard output
  --units UNITS   cm, in or both, for the reader; the draft's own if left out
  --raw-html      let raw HTML in the draft through to the page. Only for drafts you trust: it may hold scripts

Example:
  gaugewright convert pullover.md --gauge "18 sts and 25 rows to 10 cm" --size M --to html --out pullover.html

Exit status: 0 done (there may be notes and warnings); 2 the draft or the options are wrong, and nothing was written.
`

const reviewUsage = `gaugewright review OLD NEW

Tells what changed between two versions of a draft, made by hand or by convert: what the garment comes to; then, piece by
piece, each number that changed, what it measures, what it should measure, and why; instructions that are new, gone, moved or
reworded; and the text around them, word by word. Instructions are found again by name, place and kind, not by their lines.

  --to FORM       text (the default), markdown, html (a page) or json (data). Without it, a file called *.md, *.html or
                  *.json has that form
  --all           in text and Markdown, list what did not change, too; a page has it folded away, and data has it always
  --out PATH      a file; without it, standard output
  --units UNITS   cm, in or both, for the reader; the draft's own if left out

Example:
  gaugewright review pullover.md pullover-aran/draft.md --to html --out review.html

Exit status: 0 nothing changed; 1 something did; 2 a draft or the options are wrong, and nothing was written.
`

const explainUsage = `gaugewright explain DRAFT NAME...

Tells why numbers are what they are. NAME is a name of the draft (of a number, a measure or a heading), or LINE:COLUMN
of a marked instruction; without one, all of them are told. What is explained is the result that convert gives with the
same options.

` + whatFor + `  --model         the whole problem, in the LP format that solvers of integer programmes read
  --out PATH      a file; without it, standard output

Example:
  gaugewright explain pullover.md back 24:23 --gauge "18 sts and 25 rows to 10 cm"

Exit status: 0 done; 2 the draft or the options are wrong, and nothing was written.
`

const swatchUsage = `gaugewright swatch CARD [DRAFT]

Tells what the swatches on a card say: stitch and row gauge to 10 cm and to 4 in, before and after washing; how sure that
is, and what it means on a garment; what washing did; whether a swatch is too small to trust, and how large it would have to
be; and whether its rows and stitches are in an ordinary proportion.

With a draft, it tells what to do: how the gauge compares with the one the draft asks for, what the wearer would get in every
measure by knitting as written, by following another printed size, and by recalculating, and which of them is best; where none
comes close, which needles to try.

  --size NAME     one of the draft's sizes; may be repeated. Without it, all of them
  --body CARD     a wearer's measurements, from a file with a body block
  --measure TEXT  one measurement, "chest = 93 cm"; goes before the card's. May be repeated
  --to FORM       text (the default) or json (data)
  --out PATH      a file; without it, standard output
  --units UNITS   cm or in, for the reader; the draft's own if left out

Example:
  gaugewright swatch otter-blue.md pullover.md --measure "chest = 93 cm"

Exit status: 0 done (there may be notes and warnings); 2 the card, the draft or the options are wrong, and nothing was
written.
`

const markUsage = `gaugewright mark DRAFT

Reads a pattern in plain Markdown or text and writes it back with braces round every instruction that the notation can hold,
changing nothing else, and with a block at the top for gauge, sizes and measurements, where "check this" stands behind what was
guessed. It works the piece while it reads: which reading of a phrase makes the sums come out decides, and where the text
contradicts itself, that is told as check tells it. What is marked already keeps its marks.

  --report        what was marked, what was left alone and why, and each doubt, on standard output, in the order of the text
  --diff          the braces alone, as a unified diff, on standard output
  --ask           go through the doubts one by one
  --out PATH      a file for the marked draft; without it, standard output

Example:
  gaugewright mark plain.md --out live.md --report

Exit status: 0 done; 1 done, and the text contradicts itself; 2 it could not be read, and nothing was written.
`

const publishUsage = `gaugewright publish DRAFT

Makes a folder of one pattern at many gauges: for each gauge a page and a copy to knit from, and beside them index.html to choose
gauge and size from, with what each gives and by how much it misses. The draft's own gauge is always among them. What does
not work at a gauge does not stop the others: it stands on the index, in problems.json and on standard error.

  --gauge TEXT    one gauge of the draft's first fabric, "18 sts and 25 rows to 10 cm", or a range of them, "18 to 24 sts and
                  25 to 32 rows to 10 cm": each stitch between, with the rows that keep pace; over 2 in or 5 cm each half
                  stitch, over 1 in each quarter. May be repeated, for 50 gauges in all. A gauge of another fabric, "rib: 20 sts
                  and 27 rows to 10 cm", goes with the one gauge before it
  --swatch CARD   one gauge, from a swatch card; its pages are called after the card. May be repeated
  --tighter TEXT  a place that comes out tighter than the first fabric and was not swatched, "sleeve 4%", at every gauge but
                  the draft's own. May be repeated
  --size NAME     one of the draft's sizes; may be repeated. Without it, all of them
  --out FOLDER    a new folder
  --units UNITS   cm, in or both, for the reader; the draft's own if left out
  --raw-html      let raw HTML in the draft through to the pages. Only for drafts you trust: it may hold scripts

In the folder: index.html; for each gauge a folder like 18-sts-25-rows with pattern.html and pattern.md; measures.html, what
each gauge gives in every measure; counts.html and counts.csv, the counts that the draft names, where it names any; and
problems.json, a JSON Feed of what does not work. SOURCE_DATE_EPOCH dates it.

Example:
  gaugewright publish pullover.md --gauge "18 to 24 sts and 25 to 32 rows to 10 cm" --out shop/

Exit status: 0 done; 1 done, and at some gauge a size does not work; 2 the draft or the options are wrong, and nothing was
written.
`
