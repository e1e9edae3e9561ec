package procedure

import "fmt"

// Way is what is done with a furnishing.
type Way uint8

// The ways.
const (
	NoWay Way = iota
	HeatIt
	FreezeIt
	WashIt
	ThrowAway
	wayCount
)

var wayWords = [wayCount]string{"", "heat", "freeze", "wash", "throw away"}

// String is the way's word.
func (w Way) String() string { return wayWords[min(w, wayCount-1)] }

// WayOf finds a way by its word.
func WayOf(word string) (Way, bool) {
	for w := HeatIt; w < wayCount; w++ {
		if wayWords[w] == word {
			return w, true
		}
	}
	return NoWay, false
}

// Item is one furnishing of the animal, or its enclosure.
type Item struct {
	Name      string `json:"name"`
	Enclosure bool   `json:"enclosure"`
	Way       Way    `json:"way"`
	Record    string `json:"record"` // number of the treatment's record, or how it was washed
	Sealed    bool   `json:"sealed"` // and labelled with the record's number
}

// done says whether the item may go back.
func (i *Item) done() bool {
	switch {
	case i.Way == ThrowAway:
		return true
	case i.Enclosure:
		return i.Record != "" // it is not packed into a bag
	}
	return i.Record != "" && i.Sealed
}

// lacks says what an item that may not go back still needs.
func (i *Item) lacks() string {
	switch {
	case i.Record == "":
		return fmt.Sprintf("%s is not treated: %s it and write the number of its record (treated)", i.Name, i.Way)
	default:
		return fmt.Sprintf("%s is not sealed and labelled with the record's number: opened or unlabelled means treat it again", i.Name)
	}
}

const mostItems = 64

func (c *Case) item(name string) *Item {
	for i := range c.s.Items {
		if c.s.Items[i].Name == name {
			return &c.s.Items[i]
		}
	}
	return nil
}

// furnishing carries out the orders about one furnishing.
func (c *Case) furnishing(r *Request) ([]Tell, error) {
	if r.Order == Furnish {
		switch {
		case !text(r.Item):
			return nil, c.no(r.Order, "no furnishing is named", "write its name, at most 80 characters")
		case c.item(r.Item) != nil:
			return nil, c.no(r.Order, "a furnishing of that name is there already", "write another name")
		case r.Way == NoWay || r.Way >= wayCount:
			return nil, c.no(r.Order, "nothing is said about what is done with it", "write heat, freeze, wash or throw away")
		case r.Enclosure && r.Way == ThrowAway:
			return nil, c.no(r.Order, "the animal goes back into its enclosure", "write heat or wash, and name a new enclosure when this one goes away")
		case len(c.s.Items) >= mostItems:
			return nil, c.no(r.Order, "the list is full", "treat several small things as one, in one bag with one label")
		}
		c.s.Items = append(c.s.Items, Item{Name: r.Item, Enclosure: r.Enclosure, Way: r.Way})
		return nil, nil
	}
	i := c.item(r.Item)
	if i == nil {
		return nil, c.no(r.Order, "there is no furnishing of that name", "name it first (furnish), or write one of the list")
	}
	switch {
	case r.Order == Unseal:
		i.Sealed = false
		if !i.Enclosure {
			i.Record = "" // whatever got in is in now
		}
	case i.Way == ThrowAway:
		return nil, c.no(r.Order, i.Name+" was to be thrown away", "throw it away, sealed in a bag, and name a new one")
	case r.Order == Treat && !text(r.Record):
		return nil, c.no(r.Order, "no record is named", "write the number of the record of a treatment that passed and was released")
	case r.Order == Treat && i.Way != WashIt && !r.Passed:
		return nil, c.no(r.Order, "the treatment "+r.Record+" is not known as passed and released", "let it pass and have a named person release it, or treat again")
	case r.Order == Treat:
		i.Record, i.Sealed = r.Record, false
	case i.Record == "":
		return nil, c.no(r.Order, i.lacks(), "treat it first, then seal it")
	case r.Record != i.Record:
		return nil, c.no(r.Order, "the label says "+r.Record+" and its record is "+i.Record, "label it with the record's own number, or treat it again")
	default:
		i.Sealed = true
	}
	return nil, nil
}

// mayReturn says what keeps furnishings and animal from going back.
func (c *Case) mayReturn() string {
	enclosure := false
	for i := range c.s.Items {
		it := &c.s.Items[i]
		if !it.done() {
			return it.lacks()
		}
		enclosure = enclosure || it.Enclosure
	}
	if !enclosure {
		return "the enclosure is not in the list: name it and treat it"
	}
	return ""
}
