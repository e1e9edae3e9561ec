# Nothing warms: the pulses stay short, the alarm names what to look at.
tub 26
fault pad dead
run 3h
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
       1m1s  raised "too cold", 25.94 C
       1m1s  alarm "too cold": normal -> suppressed by design, 25.94 C
      10m3s  proof of "all off" passed, 25.94 C
      10m4s  first heat
      10m4s  heat on
      10m4s  series relay on
      15m9s  heat off
      15m9s  series relay off
     15m11s  raised "no rise", 25.94 C
     15m11s  alarm "no rise": normal -> unacknowledged, 25.94 C
     37m51s  heat on
     37m51s  series relay on
     42m56s  heat off
     42m56s  series relay off
    1h3m17s  heat on
    1h3m17s  series relay on
    1h8m22s  heat off
    1h8m22s  series relay off
   1h11m22s  proof of "pairing" failed, 25.62 C
   1h11m22s  alarm "unproven": suppressed by design -> unacknowledged
show
  = water 25.09, effective 25.67, stage "proving pulse", waits for nothing, permitted false, reason "unproven", animal may be in
  = too cold: warning, suppressed by design, latched false. Warm the animal. Look whether the pad has power and the lid is on.
  = no rise: warning, unacknowledged, latched false. Look at pad, plug and lid, and whether each probe is in this tub.
  = unproven: heat off, unacknowledged, latched false. Stay with the tub until the proof has passed.
act presence board
     3h0m1s  act done
     3h0m1s  heat on
     3h0m1s  series relay on
run 30m
     3h5m6s  heat off
     3h5m6s  series relay off
   3h25m27s  heat on
   3h25m27s  series relay on
    3h30m1s  heat off
    3h30m1s  series relay off
show
  = water 24.96, effective 25.54, stage "measuring the drift", waits for nothing, permitted false, reason "unproven", animal may be in
  = too cold: warning, suppressed by design, latched false. Warm the animal. Look whether the pad has power and the lid is on.
  = no rise: warning, unacknowledged, latched false. Look at pad, plug and lid, and whether each probe is in this tub.
  = unproven: heat off, unacknowledged, latched false. Stay with the tub until the proof has passed.
