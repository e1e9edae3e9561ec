package journal

import (
	"reflect"
	"testing"

	"soakwarden/controller"
	"soakwarden/internal/journal/entry"
)

// fill gives every field of v another value than zero, counted up, so that no
// word added to an input or an output can be forgotten by the record.
func fill(t *testing.T, v reflect.Value, n *int) {
	*n++
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int64:
		v.SetInt(int64(1 + *n%2))
	case reflect.Uint8, reflect.Uint32:
		v.SetUint(uint64(1 + *n%2))
	case reflect.Struct:
		for i := range v.NumField() {
			fill(t, v.Field(i), n)
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		for i := range v.Len() {
			fill(t, v.Index(i), n)
		}
	default:
		t.Fatalf("no value for a %s", v.Kind())
	}
}

func TestEveryWordOfATickComesBack(t *testing.T) {
	n := 0
	var in controller.Input
	var out controller.Output
	fill(t, reflect.ValueOf(&in).Elem(), &n)
	fill(t, reflect.ValueOf(&out).Elem(), &n)
	out.Events = nil
	check := func(in controller.Input, out controller.Output) {
		t.Helper()
		b := &block{}
		b.add(&in, &out, in.Acts)
		e := entry.Entry{Header: entry.Header{Seq: 1}, Body: b.whole()}
		got, err := entry.Decode(e.Append(nil))
		if err != nil {
			t.Fatal(err)
		}
		ticks := got.Body.(*entry.Ticks)
		if back := InputOf(ticks, 0); !reflect.DeepEqual(back, in) {
			t.Errorf("the input came back as\n%+v, was\n%+v", back, in)
		}
		if back := OutputOf(ticks, 0); !reflect.DeepEqual(back, out) {
			t.Errorf("the output came back as\n%+v, was\n%+v", back, out)
		}
	}
	check(in, out)
	// One flag at a time, so that no two share a place.
	for _, of := range []func(*controller.Input, *controller.Output) reflect.Value{
		func(in *controller.Input, _ *controller.Output) reflect.Value {
			return reflect.ValueOf(&in.Health).Elem()
		},
		func(in *controller.Input, _ *controller.Output) reflect.Value {
			return reflect.ValueOf(&in.Treatment).Elem()
		},
		func(_ *controller.Input, out *controller.Output) reflect.Value {
			return reflect.ValueOf(&out.Command).Elem()
		},
		func(_ *controller.Input, out *controller.Output) reflect.Value { return reflect.ValueOf(out).Elem() },
	} {
		for i := range of(&in, &out).NumField() {
			in := controller.Input{Readings: []controller.Reading{}}
			out := controller.Output{}
			if f := of(&in, &out).Field(i); f.Kind() == reflect.Bool {
				f.SetBool(true)
				check(in, out)
			}
		}
	}
}
