# Filled warm: pulses end early at the band and prove nothing until one is whole.
tub 29.3
hush
run 20m
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
      10m1s  ready on, 29.25 C
      10m3s  proof of "all off" passed, 29.19 C
      10m4s  first heat
      18m9s  proof of "pairing" passed, 29.31 C
water 29.35
sun 0.8
run 10m
sun 0
run 3h
     42m24s  proof of "series relay" passed, 29.25 C
     42m25s  cleared "unproven"
     42m25s  alarm "unproven": suppressed by design -> normal
show
  = water 29.33, effective 29.40, stage "proven", waits for nothing, permitted true, reason "none", animal may be in
