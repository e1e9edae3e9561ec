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
fault control implausible
run 20s
     45m42s  raised "probe implausible", 29.38 C
     45m42s  alarm "probe implausible": normal -> unacknowledged, 29.38 C
     45m42s  heat off
     45m42s  series relay off
heal control implausible
run 2m
     45m57s  cleared "probe implausible", 29.38 C
     45m57s  alarm "probe implausible": unacknowledged -> over, nobody answered, 29.38 C
     45m57s  series relay on
     46m42s  heat on
fault guard frozen
run 3h
     52m13s  heat off
      53m1s  raised "probe frozen", 29.44 C
      53m1s  alarm "probe frozen": normal -> unacknowledged, 29.44 C
      53m1s  series relay off
      54m0s  latched "probe frozen", 29.44 C
   2h16m11s  raised "probes differ", 28.69 C
   2h16m11s  alarm "probes differ": normal -> unacknowledged, 28.69 C
show
  = water 27.87, effective 29.40, stage "proven", waits for nothing, permitted false, reason "probe frozen", animal may be in
  = probe implausible: none, over, nobody answered, latched false. Look for a wet plug or a short, then change the probe.
  = probes differ: heat off, unacknowledged, latched false. Compare both probes in one cup of water.
  = probe frozen: trip, unacknowledged, latched true. Change the probe.
