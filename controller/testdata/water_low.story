# The tub leaks slowly: what is left answers more strongly than what was confirmed.
tub 29
hush
run 40h
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
      10m3s  proof of "all off" passed, 28.94 C
      10m4s  first heat
      18m9s  proof of "pairing" passed, 29.00 C
     25m44s  proof of "series relay" passed, 28.94 C
     25m45s  cleared "unproven"
     25m45s  alarm "unproven": suppressed by design -> normal
     45m32s  ready on, 29.38 C
gain 1.5
run 24h
show
  = water 29.35, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
gain 1.6
run 24h
  66h44m20s  raised "water low"
  66h44m20s  alarm "water low": normal -> unacknowledged
  73h42m39s  raised "too cold", 26.56 C
  73h42m39s  alarm "too cold": normal -> unacknowledged, 26.56 C
show
  = water 23.35, effective 23.91, stage "proven", waits for nothing, permitted false, reason "water low", animal may be in
  = too cold: warning, unacknowledged, latched false. Warm the animal. Look whether the pad has power and the lid is on.
  = water low: heat off, unacknowledged, latched false. Top up the water, then confirm the fill.
act confirm fill board
    88h0m1s  act done
run 1h
show
  = water 23.24, effective 23.80, stage "proven", waits for nothing, permitted false, reason "water low", animal may be in
  = too cold: warning, unacknowledged, latched false. Warm the animal. Look whether the pad has power and the lid is on.
  = water low: heat off, unacknowledged, latched false. Top up the water, then confirm the fill.
