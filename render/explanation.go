package render

import (
	"bytes"
	"strings"

	"gaugewright/rewrite"
)

// Explanation is why numbers are what they are, as plain text: each instruction, and under it a sentence a line.
func Explanation(reasons []rewrite.Reason) []byte {
	var b bytes.Buffer
	for i, r := range reasons {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(printable(strings.Join(strings.Fields(r.Title), " ")) + "\n")
		for _, l := range r.Lines {
			paragraph(&b, "  ", l)
		}
	}
	return b.Bytes()
}
