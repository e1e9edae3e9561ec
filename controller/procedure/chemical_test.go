package procedure

import (
	"bytes"
	"strings"
	"testing"
)

// The products of these tests are invented, and none is meant.
func used(where string) Request {
	return Request{Order: UseChemical, Item: where, Words: "a spray (invented)", Who: "a keeper"}
}

func aired(where string) Request {
	return Request{Order: Air, Item: where, Words: "two days of open window, dry, no smell"}
}

// treatedBox brings a case to the point at which nothing but the chemical keeps
// the animal from going back.
func treatedBox(t *testing.T) *teller {
	x := tell(t).to(OnPaper)
	x.do(Request{Order: Furnish, Item: "box", Enclosure: true, Way: WashIt})
	x.do(Request{Order: Treat, Item: "box", Record: "washed"})
	return x
}

// Nothing alive goes where a chemical was used before somebody has said that
// the place is aired.
func TestNothingGoesBackBeforeItIsAired(t *testing.T) {
	x := treatedBox(t)
	x.do(used("Box"))
	back := Request{Order: Return, Value: degrees(27)}
	if no := x.refused(back); !strings.Contains(no.Error(), "Box was treated with a spray (invented), and nobody has said that it is aired") || !strings.Contains(no.Error(), "(aired)") {
		t.Error(no)
	}
	if d := x.c.Due(x.now, false); !strings.HasPrefix(d[0].What, "Keep the animal out and air it: Box") {
		t.Errorf("%+v", d)
	}
	x.do(aired("box"))
	x.do(back)
	if v := x.c.View(); v.Stage != Watch || len(v.Chemicals) != 1 || v.Chemicals[0] != (Chemical{"a spray (invented)", "Box", "a keeper", "two days of open window, dry, no smell"}) {
		t.Errorf("%+v", v.Chemicals)
	}
	// Beside an animal there is none; once it is out there is a record, and no
	// all-clear before it is aired.
	x.refused(used("box"))
	x.do(Request{Order: Place, Words: "in a carrier"})
	x.do(used("box"))
	x.now = x.now.Add(45 * day)
	for range 3 {
		x.do(Request{Order: Look})
	}
	if no := x.refused(Request{Order: Clear}); !strings.Contains(no.Error(), "(aired)") {
		t.Error(no)
	}
	x.do(aired("box"))
	x.do(Request{Order: Clear})
}

func TestChemicalInTheTubKeepsTheAnimalOut(t *testing.T) {
	for _, name := range []string{"tub", "north", "Tub North"} {
		x := tell(t).to(Ready)
		x.do(used(name))
		if no := x.refused(Request{Order: PutIn, Seen: good}); !strings.Contains(no.Error(), "(aired)") {
			t.Error(no)
		}
		x.do(aired(name))
		x.do(Request{Order: PutIn, Seen: good}, TellIn, TellPresent)
		if no := x.refused(used(name)); !strings.Contains(no.Error(), "veterinarian first") {
			t.Error(no)
		}
		x.do(used("the room"))
	}
}

func TestRecordOfAChemicalIsWhole(t *testing.T) {
	x := tell(t).to(OnPaper)
	for name, r := range map[string]Request{
		"where":   {Order: UseChemical, Words: "a spray", Who: "a keeper"},
		"product": {Order: UseChemical, Item: "box", Who: "a keeper"},
		"who":     {Order: UseChemical, Item: "box", Words: "a spray"},
		"nowhere": aired("shelf"),
		"how":     {Order: Air, Item: "box"},
	} {
		if no := x.refused(r); no.Instead == "" {
			t.Errorf("%s: %v", name, no)
		}
	}
	for range mostChemicals {
		x.do(used("box"))
	}
	if no := x.refused(used("box")); !strings.Contains(no.Error(), "the list is full") {
		t.Error(no)
	}
	// A state with more than that was not saved by this program, and one of
	// before there were records is still a state.
	var c Case
	s := x.c.s
	s.Chemicals = append(s.Chemicals, s.Chemicals[0])
	if c.Restore(canonical(&s)) == nil {
		t.Error("more chemicals than the list takes")
	}
	if old := tell(t).to(Soaking).c.Save(); bytes.Contains(old, []byte("chemicals")) {
		t.Error("a case without chemicals is saved differently than before")
	}
	for _, caution := range append(Cautions(), Filled()...) {
		if strings.ContainsAny(caution, "0123456789%") {
			t.Errorf("a caution that could be read as a dose: %s", caution)
		}
	}
}
