package render

import (
	"bytes"
	"strconv"
	"strings"
)

// markup is HTML being written. Words reach it through text or escaped bytes alone; raw is for what is written as it
// stands: mark-up of our own, and what has been escaped.
type markup struct{ bytes.Buffer }

// raw writes mark-up as it stands.
func (m *markup) raw(parts ...string) {
	for _, s := range parts {
		m.WriteString(s)
	}
}

// text writes words, with the signs of mark-up in them escaped.
func (m *markup) text(words string) {
	_, _ = m.Write(appendEscaped(m.AvailableBuffer(), words))
}

// whole writes a whole number.
func (m *markup) whole(n int) {
	_, _ = m.Write(strconv.AppendInt(m.AvailableBuffer(), int64(n), 10))
}

// Buffered and Flush let goldmark draw straight into it (its util.BufWriter).
func (m *markup) Buffered() int { return 0 }
func (m *markup) Flush() error  { return nil }

// appendEscaped writes words for the text of an element or for an attribute between double quotes.
func appendEscaped[T string | []byte](b []byte, words T) []byte {
	from := 0
	for i := 0; i < len(words); i++ {
		var as string
		switch words[i] {
		case '&':
			as = "&amp;"
		case '<':
			as = "&lt;"
		case '>':
			as = "&gt;"
		case '"':
			as = "&quot;"
		default:
			continue
		}
		b = append(append(b, words[from:i]...), as...)
		from = i + 1
	}
	return append(b, words[from:]...)
}

func escape(s string) string {
	if !strings.ContainsAny(s, `&<>"`) {
		return s
	}
	return string(appendEscaped(make([]byte, 0, len(s)+16), s))
}
