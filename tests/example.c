#include <stdio.h>
#include <volleyweave/volleyweave.h>

// Say what fire rate the loop made from a take really has.
int
main(int argc, char** argv) {
  const VwReadOptions reading = vw_read_defaults();
  const VwFindOptions finding = vw_find_defaults();
  VwFamilyOptions     wishes = vw_family_defaults();
  VwSound             sound = {0};
  VwTake              take = {0};
  VwShotFacts         facts = {0};
  VwFamily            family = {0};
  wishes.fire_rate_per_s = 9.0;

  const char* const path = argc > 1 ? argv[1] : "";
  VwStatus          st = vw_read(path, &reading, &sound, NULL);
  if (!st) {
    st = vw_take_prepare(&sound, &take);
  }
  if (!st) {
    st = vw_find(&take, &finding, &facts);
  }
  if (!st) {
    st = vw_family_make(&take, &facts, 1, &wishes, &family);
  }
  if (st) {
    fprintf(stderr, "%s: %s\n", vw_strerror(st), vw_remedy(st));
  } else {
    printf("%.3f shots per second\n", family.plan.fire_rate_per_s);
  }
  vw_family_clear(&family); // all of these accept what was never filled in
  vw_take_clear(&take);
  vw_sound_clear(&sound);
  return st ? 1 : 0;
}
