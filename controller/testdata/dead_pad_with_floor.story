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
  10h17m20s  raised "no rise", 29.25 C
  10h17m20s  latched "no rise", 29.25 C
  10h17m20s  alarm "no rise": normal -> unacknowledged, 29.25 C
show
  = water 29.24, effective 29.40, stage "proven", waits for nothing, permitted false, reason "no rise", animal may be in
  = no rise: trip, unacknowledged, latched true. Look at pad, plug, lid and probe.
act reset no rise seen
  10h17m21s  alarm "no rise": unacknowledged -> normal, 29.25 C
  10h17m21s  reset "no rise"
run 20m
  10h24m50s  raised "no rise", 29.12 C
  10h24m50s  latched "no rise", 29.12 C
  10h24m50s  alarm "no rise": normal -> unacknowledged, 29.12 C
show
  = water 29.03, effective 29.40, stage "proven", waits for nothing, permitted false, reason "no rise", animal may be in
  = no rise: trip, unacknowledged, latched true. Look at pad, plug, lid and probe.
