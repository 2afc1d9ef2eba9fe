#include "motion/read_ahead.hpp"
#include "motion/stretch.hpp"

#include <catch2/catch.hpp>

#include <cstdint>
#include <limits>
#include <stdexcept>
#include <string>

using namespace restep;

namespace {

/// Steps, each named by its line, and stretches of one to seven cuts, which are named by their lines too.
class Numbered final : public motion::StepSource {
public:
  explicit Numbered(std::uint32_t lines, std::uint32_t trouble = std::numeric_limits<std::uint32_t>::max())
      : lines_(lines)
      , trouble_(trouble) {}

  bool next(motion::Step& step) override {
    if (at_ == lines_) return false;
    if (at_ >= trouble_) throw std::runtime_error("no more");
    motion::Motion line;
    line.path = motion::PathKind::line;
    line.to.x = ++at_;
    step = {};
    step.event = line;
    step.place.line = at_;
    return true;
  }
  bool next_stretch(motion::Stretch& cuts) override {
    std::uint32_t const size = 1 + at_ % 7;
    if (at_ % 3 == 0 || at_ + size > lines_ || at_ + size > trouble_) return false;
    motion::StretchColumns& columns = pool_.next();
    columns.set(0, {static_cast<double>(at_), 0, 0});
    for (std::uint32_t i = 0; i < size; ++i) {
      columns.places[i] = {};
      columns.places[i].line = ++at_;
      columns.set(i + 1, {static_cast<double>(at_), 0, 0});
    }
    columns.renew(size);
    cuts = {&columns, 0, size, {}, {}};
    return true;
  }

private:
  std::uint32_t lines_, trouble_;
  std::uint32_t at_ = 0;
  motion::StretchPool pool_;
};

/// Everything that a source gives, as it comes.
std::string all_of(motion::StepSource& source, bool in_stretches) {
  std::string all;
  motion::Step step;
  motion::Stretch cuts;
  for (;;) {
    if (in_stretches && source.next_stretch(cuts)) {
      for (std::size_t i = 0; i < cuts.size; ++i)
        all += std::to_string(cuts.places()[i].line) +
               (cuts.point(i + 1).x == cuts.places()[i].line ? "," : "!");
      all += ";";
      continue;
    }
    if (!source.next(step)) return all;
    all += std::to_string(step.place.line) + ";";
  }
}

} // namespace

TEST_CASE("what is read ahead is the same in the same order", "[motion]") {
  for (std::uint32_t const lines : {0U, 1U, 100U, 300'000U})
    for (bool const in_stretches : {true, false}) {
      Numbered alone(lines), source(lines);
      std::uint64_t looked = 0;
      motion::ReadAhead ahead(source,
                              [&](auto const& passing) { looked += motion::last_place(passing).line; });
      bool const same = all_of(ahead, in_stretches) == all_of(alone, in_stretches);
      CHECK(same);
      CHECK((looked > 0) == (lines > 0));
      motion::Step step;
      CHECK_FALSE(ahead.next(step));
    }
}

TEST_CASE("what is read ahead may be left unread", "[motion]") {
  Numbered source(10'000'000);
  motion::ReadAhead ahead(source, [](auto const&) {});
  motion::Step step;
  REQUIRE(ahead.next(step));
  CHECK(step.place.line == 1);
}

TEST_CASE("trouble of a reading thread comes to who asks, behind what was read before it", "[motion]") {
  Numbered source(300'000, 200'000);
  motion::ReadAhead ahead(source, [](auto const&) {});
  std::uint32_t last = 0;
  motion::Step step;
  CHECK_THROWS_WITH(
      [&] {
        while (ahead.next(step))
          last = step.place.line;
      }(),
      "no more");
  CHECK(last > 150'000);
  CHECK(last <= 200'000);
}
