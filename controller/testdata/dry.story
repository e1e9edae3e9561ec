# A tenth of the water over the pad: the pulse is stopped and the station trips.
tub 24
gain 10
until latched 1h
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
       1m1s  raised "too cold", 23.94 C
       1m1s  alarm "too cold": normal -> suppressed by design, 23.94 C
      10m3s  proof of "all off" passed, 24.00 C
      10m4s  first heat
      10m4s  heat on
      10m4s  series relay on
     13m42s  heat off
     13m42s  series relay off
     13m43s  raised "no water", 24.81 C
     13m43s  latched "no water", 24.81 C
     13m43s  alarm "no water": normal -> unacknowledged, 24.81 C
show
  = water 24.77, effective 24.81, stage "measuring the drift", waits for nothing, permitted false, reason "no water", animal may be in
  = too cold: warning, suppressed by design, latched false. Warm the animal. Look whether the pad has power and the lid is on.
  = no water: trip, unacknowledged, latched true. Look at the water level and at every probe, then confirm the fill.
  = unproven: warning, suppressed by design, latched false. Stay with the tub until the proof has passed.
act reset no water board seen
     13m44s  act refused "no water": the cause persists
     13m44s  alarm "no water": unacknowledged -> latched unacknowledged, 24.81 C
gain 0.1
run 10s
act reset no water board seen
     13m55s  alarm "no water": latched unacknowledged -> normal, 24.81 C
     13m55s  reset "no water"
until proven 2h
     18m55s  heat on
     18m55s  series relay on
     22m51s  raised "no rise", 24.88 C
     22m51s  alarm "no rise": normal -> unacknowledged, 24.88 C
      23m1s  heat off
      27m0s  proof of "pairing" passed, 24.94 C
     34m35s  proof of "series relay" passed, 24.88 C
show
  = water 24.88, effective 25.48, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
  = too cold: warning, suppressed by design, latched false. Warm the animal. Look whether the pad has power and the lid is on.
  = no rise: warning, unacknowledged, latched false. Look at pad, plug and lid, and whether each probe is in this tub.
  = unproven: warning, suppressed by design, latched false. Stay with the tub until the proof has passed.
