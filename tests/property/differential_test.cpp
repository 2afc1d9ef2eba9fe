// Two interpreters, written apart from each other, must agree on every program of the standard's language,
// for every control that the program may run on.
#include "random_language.hpp"
#include "told.hpp"

#include <catch2/catch.hpp>

using namespace restep;
using namespace restep::property;

namespace {

/// Expressions count to 1e-9 of an inch, and the centre of a flat arc by its radius makes a hundred of one.
bool near(double a, double b) {
  return std::abs(a - b) <= 5e-6;
}

/// What the reader says must hold on both controls; what it does not know must differ between them, or may.
bool agrees(double found, double here, double there, bool knows_all) {
  if (std::isnan(here)) return std::isnan(found);
  if (std::isnan(found)) return !knows_all || !near(here, there);
  return near(found, here) && near(found, there);
}

std::string spelled(ReferenceAct const& act) {
  return fmt::format("{} {}", act.what, fmt::join(act.values, " "));
}

struct Tally {
  std::size_t acts = 0, unknown = 0;
};

/// `knows_all`: the reader must know whatever the program decides.
void check_one(std::string const& program, ReferenceControl here, ReferenceControl there, bool knows_all,
               Tally& tally) {
  auto const expected = ReferenceInterpreter(here).run(program);
  auto const elsewhere = ReferenceInterpreter(there).run(program);
  auto const found = acts_of(program, here);
  for (std::size_t i = 0; i < std::min(found.size(), expected.size()); ++i) {
    bool same = found[i].what == expected[i].what && found[i].values.size() == expected[i].values.size();
    for (std::size_t k = 0; same && k < found[i].values.size(); ++k) {
      same = agrees(found[i].values[k], expected[i].values[k], elsewhere.at(i).values[k], knows_all);
      tally.unknown += std::isnan(found[i].values[k]) && !std::isnan(expected[i].values[k]);
    }
    if (!same)
      RC_FAIL(fmt::format("{}: read\n{}\nexpected\n{}\nor\n{}\nin\n{}", i, spelled(found[i]),
                          spelled(expected[i]), spelled(elsewhere.at(i)), program));
  }
  if (found.size() != expected.size())
    RC_FAIL(fmt::format("{} acts, expected {}, in\n{}", found.size(), expected.size(), program));
  tally.acts += found.size();
}

/// Another control with the same habits.
ReferenceControl elsewhere(ReferenceControl control) {
  control.machine = {-431.5, 17.25, 803};
  control.system = 4;
  control.length = 61.5;
  control.scatter = 230;
  return control;
}

void check_many(ReferenceControl const& here, bool offsets) {
  Tally tally;
  REQUIRE(holds_often(2000, [&] {
    auto const program = LanguageProgrammer(here, offsets).program(draw(1, 60));
    check_one(program, here, elsewhere(here), !offsets, tally);
  }));
  CHECK(tally.acts > 10'000);
  CHECK(tally.unknown < tally.acts / (offsets ? 2 : 5));
}

ReferenceControl control() {
  ReferenceControl control;
  control.machine = {210, -88.5, 12};
  control.scatter = 95;
  return control;
}

} // namespace

TEST_CASE("Both interpreters agree on random programs of values, modes, arcs and cycles, and know the same") {
  check_many(control(), false);
}

TEST_CASE("Both interpreters agree where work offsets, shifts, tool lengths and home moves come between") {
  check_many(control(), true);
}

TEST_CASE("Both interpreters agree where the trade's habits differ from the standard's") {
  auto shop = control();
  shop.keeps_level = true;
  shop.homes_all = false;
  shop.skips = true;
  check_many(shop, true);
}
