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
fault guard silent
run 30s
     45m42s  raised "probe silent", 29.38 C
     45m42s  alarm "probe silent": normal -> unacknowledged, 29.38 C
     45m42s  heat off
     45m42s  series relay off
heal guard silent
run 2m
      46m7s  cleared "probe silent", 29.38 C
      46m7s  alarm "probe silent": unacknowledged -> over, nobody answered, 29.38 C
      46m7s  series relay on
     46m42s  heat on
fault guard silent
run 2m
      48m3s  raised "probe silent", 29.38 C
      48m3s  alarm "probe silent": over, nobody answered -> unacknowledged, 29.38 C
      48m3s  heat off
      48m3s  series relay off
     48m44s  latched "probe silent", 29.38 C
act reset probe silent seen
      50m3s  act refused "probe silent": the cause persists
heal guard silent
run 10s
      50m8s  alarm "probe silent": unacknowledged -> latched unacknowledged, 29.38 C
act reset probe silent
     50m14s  act refused "probe silent": say what you looked at
act reset probe silent seen
     50m15s  alarm "probe silent": latched unacknowledged -> normal, 29.38 C
     50m15s  reset "probe silent"
     50m15s  heat on
     50m15s  series relay on
run 1m
act acknowledge probe silent
     51m16s  act refused "probe silent": no such alarm
fault control silent
fault guard silent
run 2m
     51m26s  raised "probe silent", 29.44 C
     51m26s  alarm "probe silent": normal -> unacknowledged, 29.44 C
     51m26s  heat off
     51m26s  series relay off
     52m16s  latched "probe silent", 29.44 C
show
  = water 29.43, effective 29.40, stage "proven", waits for nothing, permitted false, reason "probe silent", animal may be in
  = probe silent: trip, unacknowledged, latched true. Look at the probe's plug and cable.
