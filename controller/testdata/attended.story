tub 29
until ready 4h
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
      10m3s  proof of "all off" passed, 28.94 C
      10m4s  first heat
      10m4s  heat on
      10m4s  series relay on
      15m9s  heat off
      15m9s  series relay off
      18m9s  proof of "pairing" passed, 29.00 C
     25m44s  proof of "series relay" passed, 28.94 C
     25m44s  heat on
     25m44s  series relay on
     25m45s  cleared "unproven"
     25m45s  alarm "unproven": suppressed by design -> normal
     45m32s  ready on, 29.38 C
act extend attended board
     45m33s  act refused: not now
act begin attended board
     45m34s  attended mode on
     45m34s  act done
     45m34s  heat off
     45m34s  series relay off
act begin attended board
     45m35s  act refused: not now
run 31m
   1h15m34s  raised "attended too long"
   1h15m34s  alarm "attended too long": normal -> unacknowledged
act acknowledge attended too long board
   1h16m36s  alarm "attended too long": unacknowledged -> acknowledged
   1h16m36s  act done "attended too long"
run 11m
   1h25m34s  alarm "attended too long": acknowledged -> unacknowledged
act extend attended board
   1h27m37s  act done
   1h27m37s  cleared "attended too long"
   1h27m37s  alarm "attended too long": unacknowledged -> over, nobody answered
run 20m
   1h45m34s  raised "attended too long"
   1h45m34s  alarm "attended too long": over, nobody answered -> unacknowledged
act extend attended board
   1h47m38s  act done
   1h47m38s  cleared "attended too long"
   1h47m38s  alarm "attended too long": unacknowledged -> over, nobody answered
act extend attended board
   1h47m39s  act refused: no more extensions
run 30m
   2h15m34s  raised "attended too long"
   2h15m34s  alarm "attended too long": over, nobody answered -> unacknowledged
act water changed board
   2h17m40s  act done
   2h17m40s  raised "unproven"
   2h17m40s  alarm "unproven": normal -> suppressed by design
water 27
act end attended board
   2h17m41s  attended mode off
   2h17m41s  act done
   2h17m41s  cleared "attended too long"
   2h17m41s  alarm "attended too long": unacknowledged -> over, nobody answered
run 90m
   2h22m41s  heat on
   2h22m41s  series relay on
   2h27m46s  heat off
   2h27m46s  series relay off
   2h30m46s  proof of "pairing" passed, 27.12 C
   2h30m46s  heat on
   2h30m46s  series relay on
   2h30m47s  cleared "unproven"
   2h30m47s  alarm "unproven": suppressed by design -> normal
show
  = water 29.09, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
  = attended too long: none, over, nobody answered, latched false. Close the lid, take the hands out and end the attended mode.
