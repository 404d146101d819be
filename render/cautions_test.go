package render

import (
	"html"
	"strings"
	"testing"
	"time"

	"gaugewright/rewrite"
)

// Each caution is in every output that a knitter may read, and in none where it is not due.
func TestCautionsInEveryOutput(t *testing.T) {
	draft := func(prose string) string {
		return "# Small things\n\n```draft\nfabric main: 20 sts and 28 rows to 10 cm\nwidth = 30 cm\n```\n\n" + prose + "\n\n{Cast on 60 sts | width}. {Work 28 rows}. {Bind off all sts}.\n"
	}
	loose := "fabric main\nunwashed: 36 sts over 20 cm; 50 rows over 20 cm\nwashed: 36 sts over 20 cm; 50 rows over 20 cm"
	const firm = "50 sts over 20 cm; 70 rows over 20 cm"
	for _, c := range []struct{ prose, card, gauge, says string }{
		{"A bonnet for a baby, with ties.", loose, "18 sts and 25 rows to 10 cm", "can strangle or choke"},
		{"Stranded mittens.", loose, "18 sts and 25 rows to 10 cm", "catch fingers and toes"},
		{"A strip.", "fabric main\nunwashed: " + firm + "\nwashed: " + firm, "25 sts and 35 rows to 10 cm", "can hurt hands and wrists"},
	} {
		at := func(prose, card, gauge string) map[string]string {
			conv := swatched(t, draft(prose), card)
			page, err := Page(conv, Options{})
			if err != nil {
				t.Fatal(err)
			}
			data, err := ChangesJSON(conv)
			if err != nil {
				t.Fatal(err)
			}
			x, diags, _ := rewrite.Decide(conv.Draft, cardFrom(t, "card.md", []byte("```swatch\n"+card+"\n```\n")), rewrite.Request{})
			if x == nil {
				t.Fatal(diags)
			}
			decision, err := DecisionJSON(x)
			if err != nil {
				t.Fatal(err)
			}
			out := map[string]string{
				"reading copy": string(ReadingCopy(conv, Options{})), "page": string(page), "data": string(data),
				"changes": string(ReviewPage(conv.Review(), Options{})), "decision": string(Decision(x, Options{})), "data of the decision": string(decision),
				"terminal, publishing": strings.Join(published(t, "small.md", []byte(draft(prose)), Options{}, time.Time{}, gauge).Notes(), "\n"),
			}
			for name := range out {
				out[name] = strings.Join(strings.Fields(html.UnescapeString(out[name])), " ")
			}
			return out
		}
		for name, text := range at(c.prose, c.card, c.gauge) {
			if !strings.Contains(text, c.says) {
				t.Errorf("%s: the %s does not say %q:\n%s", c.prose, name, c.says, text)
			}
		}
		for name, text := range at("A strip.", loose, "18 sts and 25 rows to 10 cm") {
			if strings.Contains(text, c.says) {
				t.Errorf("the %s says %q where it is not due", name, c.says)
			}
		}
	}
}
