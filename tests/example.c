#include <stdio.h>
#include <volleyweave/volleyweave.h>

int
main(int argc, char** argv) {
  const VwReadOptions reading = vw_read_defaults();
  const VwFindOptions finding = vw_find_defaults();
  VwFamilyOptions     making = vw_family_defaults();
  VwSound             sound = {0};
  VwTake              take = {0};
  VwShotFacts         facts = {0};
  VwFamily            family = {0};
  making.fire_rate_per_s = 9.0;

  VwStatus st = vw_read(argc > 1 ? argv[1] : "", &reading, &sound, NULL);
  st = st ? st : vw_take_prepare(&sound, &take);
  st = st ? st : vw_find(&take, &finding, &facts);
  st = st ? st : vw_family_make(&take, &facts, 1, &making, &family);
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
