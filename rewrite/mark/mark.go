// Package mark turns a plain pattern into a live one: it finds the instructions that the notation can hold and puts braces
// round them, works the piece while it reads, proposes the block that gives gauge and sizes, and says what it left alone and
// what it was not sure of.
package mark

import (
	"bytes"
	"sort"

	"gaugewright/grammar"
)

// Marking is a plain text with what was found in it. All places are byte offsets in the text that was given.
type Marking struct {
	Old, New []byte
	Found    []Found             // what got braces, in the order of the text
	Left     []Left              // numbers that were left alone
	Doubts   []Doubt             // places that can be read in two ways
	Block    string              // the block that was put in, empty where the text has one
	Inserted []Insert            // every change, in the order of the text
	Checked  grammar.Diagnostics // what checking the marked text reports; places in New
	File     *grammar.File       // the marked text
}

// Found is a stretch of the text that got braces.
type Found struct {
	Start, End int
	Kind       string   // what it is, in words: "cast on", "bind off", …
	Text       string   // the words as they stand, on one line
	Ties       []Tie    // what was put after a bar
	Untied     []string // what was not, though one might look for it, and why
}

// Tie is what mark put after the bar of an instruction.
type Tie struct {
	Text  string
	Why   string
	Guess bool // to be looked at
}

// Left is a number that was left alone.
type Left struct {
	Start, End int
	Text       string // the number, with the word after it
	Why        string
}

// Doubt is a place that can be read in two ways.
type Doubt struct {
	Start, End int
	Text       string
	Question   string
	Readings   []Reading // two; the first is what the notation reads where nothing is said
	Chosen     int       // index in Readings
	Why        string    // what decided; empty where nothing did
}

// Reading is one way to read a doubtful place.
type Reading struct {
	Tie   string // what says so after the bar; may be empty
	Means string
}

// Insert is text put in before a byte of the original.
type Insert struct {
	At   int
	Text string
}

// Mark marks a plain text, or what is not yet marked in a draft. src is not changed. The Marking is nil where the text cannot
// be read at all; what is wrong with marks and blocks that are there already comes with it.
func Mark(name string, src []byte) (*Marking, grammar.Diagnostics) {
	return Decided(name, src, nil)
}

// apply puts the inserts into the text.
func apply(src []byte, ins []Insert) []byte {
	var out bytes.Buffer
	at := 0
	for _, x := range ins {
		out.Write(src[at:x.At])
		out.WriteString(x.Text)
		at = x.At
	}
	out.Write(src[at:])
	return out.Bytes()
}

// inOrder sorts inserts by place; those of one place keep their order.
func inOrder(ins []Insert) {
	sort.SliceStable(ins, func(i, j int) bool { return ins[i].At < ins[j].At })
}
