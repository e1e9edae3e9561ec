# One probe leaves the water: no heat while nobody looks, heat while somebody does.
tub 29
run 4h
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
     50m45s  heat off
   1h13m30s  heat on
   1h23m15s  heat off
   1h46m18s  heat on
    1h56m2s  heat off
   2h18m15s  heat on
   2h27m51s  heat off
   2h49m53s  heat on
   2h57m41s  heat off
   3h15m35s  heat on
   3h23m21s  heat off
   3h41m53s  heat on
   3h49m21s  heat off
fault guard out of water
run 30m
    4h0m20s  raised "probe jumped", 26.38 C
    4h0m20s  alarm "probe jumped": normal -> unacknowledged, 26.38 C
    4h0m20s  series relay off
    4h0m21s  raised "unproven"
    4h0m21s  alarm "unproven": normal -> suppressed by design
show
  = water 29.07, effective 29.40, stage "proving pulse", waits for nothing, permitted false, reason "probe jumped", animal may be in
  = probe jumped: heat off, unacknowledged, latched false. Put the probe back under water, look at the level, then confirm the fill.
  = unproven: warning, suppressed by design, latched false. Stay with the tub until the proof has passed.
act presence
    4h30m1s  act done
run 1m
   4h30m11s  raised "probes differ", 29.12 C
   4h30m11s  alarm "probes differ": normal -> unacknowledged, 29.12 C
act confirm fill
    4h31m2s  act done
    4h31m2s  heat on
    4h31m2s  series relay on
run 20m
    4h36m7s  heat off
    4h36m7s  series relay off
    4h39m7s  proof of "pairing" passed, 29.12 C
    4h39m7s  heat on
    4h39m7s  series relay on
    4h39m8s  cleared "unproven"
    4h39m8s  alarm "unproven": suppressed by design -> normal
show
  = water 29.40, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
  = probe jumped: warning, unacknowledged, latched false. Put the probe back under water, look at the level, then confirm the fill.
  = probes differ: warning, unacknowledged, latched false. Compare both probes in one cup of water.
heal guard out of water
run 2h
    4h51m3s  heat off
    4h51m3s  series relay off
    4h51m5s  series relay on
    4h51m6s  series relay off
    4h51m9s  series relay on
   4h51m10s  series relay off
   4h51m11s  series relay on
   4h52m10s  cleared "probes differ", 29.12 C
   4h52m10s  alarm "probes differ": unacknowledged -> over, nobody answered, 29.12 C
     5h1m2s  series relay off
    5h2m11s  cleared "probe jumped", 26.38 C
    5h2m11s  alarm "probe jumped": unacknowledged -> over, nobody answered, 26.38 C
    5h2m11s  series relay on
    5h5m11s  heat on
   5h12m27s  heat off
   5h30m22s  heat on
    5h38m1s  heat off
   5h54m58s  heat on
     6h2m5s  heat off
   6h18m12s  heat on
    6h25m6s  heat off
   6h41m32s  heat on
   6h48m33s  heat off
show
  = water 29.45, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
  = probe jumped: none, over, nobody answered, latched false. Put the probe back under water, look at the level, then confirm the fill.
  = probes differ: none, over, nobody answered, latched false. Compare both probes in one cup of water.
