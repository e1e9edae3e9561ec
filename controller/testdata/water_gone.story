# Water that falls faster than it can is not the water that was there: no heat
# until a person has looked, not even after a restart.
tub 28
hush
act animal in
         1s  act done
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
until ready 4h
      10m3s  proof of "all off" passed, 27.94 C
      10m4s  first heat
      18m9s  proof of "pairing" passed, 28.06 C
     25m44s  proof of "series relay" passed, 27.94 C
     25m45s  cleared "unproven"
     25m45s  alarm "unproven": suppressed by design -> normal
   1h22m11s  ready on, 29.38 C
water 27.9
run 5m
   1h22m31s  raised "no water", 27.88 C
   1h22m31s  alarm "no water": normal -> unacknowledged, 27.88 C
   1h22m32s  raised "unproven"
   1h22m32s  alarm "unproven": normal -> suppressed by design
show
  = water 27.92, effective 28.48, stage "measuring the drift", waits for nothing, permitted false, reason "no water", animal in
  = no water: heat off, unacknowledged, latched false. Look at the water level and at every probe, then confirm the fill.
  = unproven: heat off, suppressed by design, latched false. Stay with the tub until the proof has passed.
act presence
   1h27m12s  act done
run 10m
restart
run 10m
show
  = water 27.75, effective 28.21, stage "proving pulse", waits for nothing, permitted false, reason "no water", animal in
  = no water: heat off, unacknowledged, latched false. Look at the water level and at every probe, then confirm the fill.
  = unproven: warning, suppressed by design, latched false. Stay with the tub until the proof has passed.
act confirm fill
      10m1s  act done
      10m1s  cleared "no water", 27.88 C
      10m1s  alarm "no water": unacknowledged -> over, nobody answered, 27.88 C
      10m1s  first heat
run 40m
      18m6s  proof of "pairing" passed, 27.88 C
      18m7s  cleared "unproven"
      18m7s  alarm "unproven": suppressed by design -> normal
show
  = water 28.66, effective 29.21, stage "proven", waits for nothing, permitted true, reason "none", animal in
  = no water: none, over, nobody answered, latched false. Look at the water level and at every probe, then confirm the fill.
