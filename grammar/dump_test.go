package grammar

import (
	"fmt"
	"math/big"
	"reflect"
	"strings"
)

var unitNames = map[Unit]string{NoUnit: "", Stitches: "sts", Rows: "rows", Rounds: "rounds", Ridges: "ridges", Centimetres: "cm", Millimetres: "mm", Inches: "in",
	Grams: "g", Ounces: "oz", Metres: "m", Yards: "yd", Balls: "balls", Percent: "%", Repeats: "repeats"}

// dump writes a tree on one line: values by what they count, spans by the text they hold, nothing that is not set.
func dump(f *File, node any) string {
	var b strings.Builder
	dumpValue(&b, f, reflect.ValueOf(node))
	return b.String()
}

func dumpValue(b *strings.Builder, f *File, v reflect.Value) {
	switch x := v.Interface().(type) {
	case Span:
		fmt.Fprintf(b, "%q", f.Text(x))
		return
	case *Value:
		if x == nil {
			return
		}
		dumpNums(b, f, x)
		return
	case Word:
		fmt.Fprintf(b, "%q", x.Key)
		return
	case *Word:
		if x != nil {
			fmt.Fprintf(b, "%q", x.Key)
		}
		return
	case *big.Rat:
		b.WriteString(x.RatString())
		return
	}
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			b.WriteString("nil")
			return
		}
		if v.Kind() == reflect.Pointer && v.Elem().Kind() == reflect.Struct {
			b.WriteString(v.Elem().Type().Name())
		}
		dumpValue(b, f, v.Elem())
	case reflect.Struct:
		b.WriteByte('{')
		first := true
		for i := range v.NumField() {
			field := v.Type().Field(i)
			if !field.IsExported() || v.Field(i).IsZero() || field.Name == "Heading" {
				continue
			}
			if s, ok := v.Field(i).Interface().(Span); ok && s.Start == s.End {
				continue
			}
			if v.Field(i).Kind() == reflect.Struct && field.Name == "Where" && v.Field(i).FieldByName("Ends").Int() == 0 && v.Field(i).FieldByName("Parts").Len() == 0 {
				continue
			}
			if !first {
				b.WriteByte(' ')
			}
			first = false
			b.WriteString(field.Name)
			b.WriteByte(':')
			dumpValue(b, f, v.Field(i))
		}
		b.WriteByte('}')
	case reflect.Slice:
		b.WriteByte('[')
		for i := range v.Len() {
			if i > 0 {
				b.WriteByte(' ')
			}
			dumpValue(b, f, v.Index(i))
		}
		b.WriteByte(']')
	default:
		switch x := v.Interface().(type) {
		case ClauseKind:
			b.WriteString([]string{"OnLast", "NextAnd", "OnNext", "OneRow"}[x])
		case Ends:
			b.WriteString([]string{"Unplaced", "EachEnd", "Beginning", "End", "NamedEdge", "Markers", "EachMarker"}[x])
		case CloseKind:
			b.WriteString([]string{"DrawThrough", "FastenOff", "Graft"}[x])
		case Side:
			b.WriteString([]string{"NoSide", "RS", "WS"}[x])
		case Unit:
			b.WriteString(unitNames[x])
		case string:
			fmt.Fprintf(b, "%q", x)
		case byte:
			fmt.Fprintf(b, "%q", rune(x))
		default:
			fmt.Fprint(b, x)
		}
	}
}

func dumpNums(b *strings.Builder, f *File, v *Value) {
	b.WriteByte('<')
	for i, n := range v.Nums {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(n.Val.RatString())
	}
	if u := unitNames[v.Unit]; u != "" {
		b.WriteString(" " + u)
	}
	if v.Span.Start == v.Span.End {
		b.WriteString(" implied")
	} else {
		fmt.Fprintf(b, " %q", f.Text(v.Span))
	}
	if v.Scattered {
		b.WriteString(" scattered")
	}
	if v.Second != nil {
		b.WriteString(" also ")
		dumpNums(b, f, v.Second)
	}
	b.WriteByte('>')
}
