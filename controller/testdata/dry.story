# Hardly any water over the pad.
tub 24
water 24
fault control implausible
heal control implausible
run 9m
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
       1m1s  raised "too cold", 23.94 C
       1m1s  alarm "too cold": normal -> suppressed by design, 23.94 C
show
  = water 23.97, effective 24.36, stage "watching with all off", waits for nothing, permitted false, reason "unproven", animal may be in
  = too cold: warning, suppressed by design, latched false. Warm the animal. Look whether the pad has power and the lid is on.
  = unproven: heat off, suppressed by design, latched false. Stay with the tub until the proof has passed.
