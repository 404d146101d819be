package render

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/grammar"
)

func TestDiagnosticsPointAtThePlace(t *testing.T) {
	for _, k := range []struct{ name, src, of, want string }{
		{"plain", "cast on 98 sts\n", "98", "x.md:1:9: fault: wrong\n  cast on 98 sts\n          ^^\n"},
		{"accent", "Käthe é: 98 sts\n", "98", "x.md:1:10: fault: wrong\n  Käthe é: 98 sts\n           ^^\n"},
		{"astral", "𝄞 98\n", "98", "x.md:1:3: fault: wrong\n  𝄞 98\n    ^^\n"},
		{"tab", "\ta\t98\n", "98", "x.md:1:4: fault: wrong\n  \ta\t98\n  \t \t^^\n"},
		{"wide", "編み物 98\n", "98", "x.md:1:5: fault: wrong\n  編み物 98\n         ^^\n"},
		{"picture", "🧶 98\n", "98", "x.md:1:3: fault: wrong\n  🧶 98\n     ^^\n"},
		{"combining", "e\u0301e\u0301 98\n", "98", "x.md:1:6: fault: wrong\n  e\u0301e\u0301 98\n     ^^\n"},
		{"subject is combined", "98 e\u0301e\u0301.\n", "e\u0301e\u0301", "x.md:1:4: fault: wrong\n  98 e\u0301e\u0301.\n     ^^\n"},
		{"mark of order", "\ufeff98\n", "98", "x.md:1:1: fault: wrong\n  98\n  ^^\n"},
		{"end of line", "98\r\nx\n", "\r\n", "x.md:1:3: fault: wrong\n  98\n    ^\n"},
		{"over two lines", "a 9\n8 sts\n", "9\n8", "x.md:1:3: fault: wrong\n  a 9\n    ^\n"},
		{"control", "\x1b[31m 98\n", "98", "x.md:1:7: fault: wrong\n  �[31m 98\n        ^^\n"},
		{"empty line", "\n98\n", "\n", "x.md:1:1: fault: wrong\n"},
	} {
		i := strings.Index(k.src, k.of)
		f := &grammar.File{Name: "x.md", Src: []byte(k.src)}
		d := grammar.Diagnostics{{Severity: grammar.Fault, Span: grammar.Span{Start: i, End: i + len(k.of)}, Summary: "wrong"}}
		if diff := cmp.Diff(k.want, string(Diagnostics(f, d, false))); diff != "" {
			t.Errorf("%s: -want +got\n%s", k.name, diff)
		}
	}
}

func TestDiagnosticsTellAll(t *testing.T) {
	src := "a\nb 98\nc 90\n"
	f := &grammar.File{Name: "x.md", Src: []byte(src)}
	d := grammar.Diagnostics{{Severity: grammar.Error, Span: grammar.Span{Start: 4, End: 6}, Summary: "98 is not 90", Detail: "One line.\nAnother.",
		Related: []grammar.Related{{Span: grammar.Span{Start: 9, End: 11}, Text: "90 is said here"}}, WayOut: "say 90"}}
	want := "x.md:2:3: error: 98 is not 90\n  b 98\n    ^^\n  One line.\n  Another.\n  x.md:3:3: 90 is said here\n    c 90\n      --\n  Try: say 90\n"
	if diff := cmp.Diff(want, string(Diagnostics(f, d, false))); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
	painted := string(Diagnostics(f, d, true))
	if !strings.Contains(painted, "\x1b[") || strings.Contains(string(Diagnostics(f, d, false)), "\x1b") {
		t.Error("colour without being asked for, or none")
	}
	data, err := DiagnosticsJSON(f, d)
	if err != nil {
		t.Fatal(err)
	}
	var got diagnosticsData
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(diagnosticsData{1, "x.md", []diagnosticData{{2, 3, 2, 5, "error", "98 is not 90", "One line.\nAnother.", []relatedData{{3, 3, "90 is said here"}}, "say 90"}}}, got); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
}

func TestDiagnosticsOfALongLine(t *testing.T) {
	src := strings.Repeat("a ", 500) + "98" + strings.Repeat(" b", 500)
	f := &grammar.File{Name: "x.md", Src: []byte(src)}
	got := strings.Split(string(Diagnostics(f, grammar.Diagnostics{{Span: grammar.Span{Start: 1000, End: 1002}, Summary: "s"}}, false)), "\n")
	if len([]rune(got[1])) > shownColumns+6 || !strings.HasPrefix(got[1], "  …") || !strings.HasSuffix(got[1], "…") {
		t.Fatalf("%q", got[1])
	}
	at := len([]rune(got[2][:strings.Index(got[2], "^")]))
	if string([]rune(got[1])[at:at+2]) != "98" || !strings.HasSuffix(got[2], " ^^") {
		t.Errorf("%q\n%q", got[1], got[2])
	}
}

func FuzzDiagnostics(f *testing.F) {
	f.Add("é\t98 𝄞\r\n", 3, 5)
	f.Add("", 0, 0)
	f.Fuzz(func(t *testing.T, src string, a, b int) {
		file := &grammar.File{Name: "x", Src: []byte(src)}
		d := grammar.Diagnostics{{Span: grammar.Span{Start: a, End: b}, Summary: "s", Related: []grammar.Related{{Span: grammar.Span{Start: b, End: a}, Text: "t"}}}}
		out := string(Diagnostics(file, d, false))
		// The first line is the place, and what follows is the source line and its mark or nothing.
		if n := strings.Count(out, "\n"); n < 2 || n > 6 || strings.ContainsAny(out, "\x1b\x00") {
			t.Fatalf("%q", out)
		}
		if _, err := DiagnosticsJSON(file, d); err != nil {
			t.Fatal(err)
		}
	})
}
