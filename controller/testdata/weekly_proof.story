tub 29
hush
until ready 4h
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
      10m3s  proof of "all off" passed, 28.94 C
      10m4s  first heat
      18m9s  proof of "pairing" passed, 29.00 C
     25m44s  proof of "series relay" passed, 28.94 C
     25m45s  cleared "unproven"
     25m45s  alarm "unproven": suppressed by design -> normal
     45m32s  ready on, 29.38 C
run 164h
show
  = water 29.45, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
run 8h
  168h33m33s  proof of "series relay" passed, 29.44 C
show
  = water 29.39, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
