package relay

import (
	"errors"
	"testing"
	"testing/synctest"
	"time"
)

// Whatever one line does, every other one is driven, in order, and the wait is
// bounded however many hang.
func TestEachLineIsDriven(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		refuses := errors.New("refuses")
		never := make(chan struct{})
		var driven [8]bool
		began := time.Now()
		errs := Each(8, func(i int) error {
			switch i {
			case 0, 2, 3:
				<-never
			case 1:
				panic("oh")
			case 4:
				return refuses
			case 5: // slow, but in time
				time.Sleep(time.Second)
			}
			driven[i] = true
			return nil
		})
		if took := time.Since(began); took > 4*eachBefore+eachAtMost {
			t.Errorf("it took %s", took)
		}
		for i, want := range []bool{false, false, false, false, false, true, true, true} {
			if driven[i] != want || (errs[i] == nil) != want {
				t.Errorf("line %d: driven %v, %v", i, driven[i], errs[i])
			}
		}
		for _, i := range []int{0, 2, 3} {
			if !errors.Is(errs[i], ErrNoAnswer) {
				t.Errorf("line %d hangs: %v", i, errs[i])
			}
		}
		if !errors.Is(errs[4], refuses) || errs[1] == nil || errs[1].Error() != "panic: oh" {
			t.Errorf("%v, %v", errs[4], errs[1])
		}
		close(never)
	})
}
