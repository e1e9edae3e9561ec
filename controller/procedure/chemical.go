package procedure

import "strings"

// Chemical is one use of a product on an enclosure, a room or a furnishing, as
// somebody wrote it down. The package knows no product, gives no dose and
// judges none: it keeps the record, and it keeps the animal away until somebody
// says that the place is aired.
type Chemical struct {
	Product string `json:"product"` // as its label says
	Where   string `json:"where"`
	By      string `json:"by"`
	Aired   string `json:"aired"` // how that was found out, empty until then
}

// Cautions are said with every record of a chemical. Common practice, no
// published source; the label and the veterinarian come first.
func Cautions() []string {
	return []string{
		"Ask the veterinarian first: many products against mites are poisonous to reptiles, more so wet, warm or in a closed box.",
		"Keep to the product's own label and local rules; this program gives no dose and no advice about any product.",
		"Keep every animal out until the place is dry, aired and without smell. Then say so (aired).",
	}
}

const mostChemicals = 16

// chemical keeps a record, or the word that the place is aired.
func (c *Case) chemical(r *Request) ([]Tell, error) {
	s := &c.s
	switch {
	case !text(r.Item):
		return nil, c.no(r.Order, "no place is named", "write where it was used: the enclosure, the room, a furnishing (--item)")
	case r.Order == UseChemical && !text(r.Words):
		return nil, c.no(r.Order, "no product is named", "write the product as its label says (--text)")
	case r.Order == UseChemical && !text(r.Who):
		return nil, c.no(r.Order, "nobody is named", "write who used it (--who)")
	case r.Order == UseChemical && s.IsIn && c.isTub(r.Item):
		return nil, c.no(r.Order, "the animal is in that tub", "never beside an animal: veterinarian first, lift it out (rest), and use another tub")
	case r.Order == UseChemical && s.Stage == Watch && s.Animal.Place == homePlace:
		return nil, c.no(r.Order, "the animal is back in its enclosure", "never beside an animal: veterinarian first, take it out and write where it is (place)")
	case r.Order == UseChemical && len(s.Chemicals) >= mostChemicals:
		return nil, c.no(r.Order, "the list is full", "ask the veterinarian; write further remarks with soakwarden note")
	case r.Order == UseChemical:
		s.Chemicals = append(s.Chemicals, Chemical{Product: r.Words, Where: r.Item, By: r.Who})
		return nil, nil
	case !text(r.Words):
		return nil, c.no(r.Order, "nothing is said about how it was aired", "write how long and how, and that no smell is left (--text)")
	}
	found := false
	for i := range s.Chemicals {
		if k := &s.Chemicals[i]; strings.EqualFold(k.Where, r.Item) && k.Aired == "" {
			k.Aired, found = r.Words, true
		}
	}
	if !found {
		return nil, c.no(r.Order, "no chemical is on record there that is not aired", "write the place as the record has it, or make the record first (chemical)")
	}
	return nil, nil
}

// isTub says whether a place is the tub of the case.
func (c *Case) isTub(where string) bool {
	return strings.EqualFold(where, "tub") || strings.EqualFold(where, c.s.Station) || strings.EqualFold(where, "tub "+c.s.Station)
}

// unaired is the first chemical of which nobody said that its place is aired;
// with tub only one on the tub itself.
func (c *Case) unaired(tub bool) (Chemical, bool) {
	for _, k := range c.s.Chemicals {
		if k.Aired == "" && (!tub || c.isTub(k.Where)) {
			return k, true
		}
	}
	return Chemical{}, false
}

// reeks says why no animal goes where a chemical was used.
func (k *Chemical) reeks() string {
	return k.Where + " was treated with " + k.Product + ", and nobody has said that it is aired"
}

const airIt = "keep the animal out; air it until it is dry and without smell, as the label says, then say so (aired)"
