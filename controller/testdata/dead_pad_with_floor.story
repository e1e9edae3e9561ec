tub 29 floor
hush
run 10h
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
      10m3s  proof of "all off" passed, 28.94 C
      10m4s  first heat
      18m9s  proof of "pairing" passed, 29.00 C
     25m44s  proof of "series relay" passed, 28.94 C
     25m45s  cleared "unproven"
     25m45s  alarm "unproven": suppressed by design -> normal
     45m24s  ready on, 29.38 C
fault pad dead
until latched 4h
  10h13m41s  raised "no rise", 29.31 C
  10h13m41s  alarm "no rise": normal -> unacknowledged, 29.31 C
  10h16m21s  latched "no rise", 29.31 C
show
  = water 29.25, effective 29.40, stage "proven", waits for nothing, permitted false, reason "no rise", animal may be in
  = no rise: trip, unacknowledged, latched true. Look at pad, plug and lid, and whether each probe is in this tub.
act reset no rise seen
  10h16m22s  alarm "no rise": unacknowledged -> normal, 29.31 C
  10h16m22s  reset "no rise"
run 20m
  10h20m11s  raised "no rise", 29.25 C
  10h20m11s  alarm "no rise": normal -> unacknowledged, 29.25 C
  10h22m51s  latched "no rise", 29.25 C
show
  = water 29.04, effective 29.40, stage "proven", waits for nothing, permitted false, reason "no rise", animal may be in
  = no rise: trip, unacknowledged, latched true. Look at pad, plug and lid, and whether each probe is in this tub.
