// Good programs with one slip in them, as editors, wires and tired people make them: each is rewritten as
// exactly what it now says, or refused. Nothing is mended silently.

#include "interpret/reader.hpp"
#include "proof/compare.hpp"
#include "tests/command/run_program.hpp"
#include "tests/proof/rewritten.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <filesystem>
#include <random>
#include <string>
#include <vector>

using namespace restep;

namespace {

std::vector<std::string> lines_of(std::string const& text) {
  std::vector<std::string> lines;
  std::size_t at = 0;
  while (at < text.size()) {
    std::size_t const end = std::min(text.find('\n', at), text.size() - 1);
    lines.push_back(text.substr(at, end + 1 - at));
    at = end + 1;
  }
  return lines;
}

/// The first blocks of every good fixture: all its tools would make a mutant cost a second.
std::vector<std::vector<std::string>> good_programs() {
  constexpr std::size_t kept = 160;
  std::vector<std::vector<std::string>> programs;
  for (auto const& entry : std::filesystem::directory_iterator(RESTEP_SOURCE_DIR "/fixtures")) {
    auto const file = entry.path() / "program.nc";
    if (entry.path().filename().string().starts_with("bad-") || !std::filesystem::exists(file)) continue;
    auto lines = lines_of(command::content_of(file));
    if (lines.size() > kept) lines.resize(kept);
    programs.push_back(std::move(lines));
  }
  std::sort(programs.begin(), programs.end());
  return programs;
}

class Mutator {
public:
  explicit Mutator(unsigned seed)
      : random_(seed) {}

  /// One slip: a line dropped, doubled or swapped with its neighbour, a digit flipped, a character lost, a
  /// sign or a point lost, two words run together, a letter mistyped.
  std::string mutant(std::vector<std::string> lines) {
    std::size_t const at = pick(lines.size() - 1);
    std::string& line = lines[at];
    switch (pick(8)) {
    case 0: lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(at)); break;
    case 1: lines.insert(lines.begin() + static_cast<std::ptrdiff_t>(at), std::string(line)); break;
    case 2: std::swap(lines[at], lines[at + 1]); break;
    case 3: replace_one(line, "0123456789", "0123456789"); break;
    case 4: line.erase(pick(line.size()), 1); break;
    case 5: replace_one(line, "-", ""); break;
    case 6: replace_one(line, ".", ""); break;
    default: replace_one(line, "GXYZIJRFSTM", "GXYZIJRFSTMKOABC"); break;
    }
    std::string text;
    for (std::string const& each : lines)
      text += each;
    return text;
  }

private:
  std::mt19937 random_;

  std::size_t pick(std::size_t below) { return random_() % below; }

  /// One of the characters in `from` becomes one of those in `to`; nothing when `to` is empty.
  void replace_one(std::string& line, std::string_view from, std::string_view to) {
    std::vector<std::size_t> places;
    for (std::size_t i = 0; i < line.size(); ++i)
      if (from.find(line[i]) != std::string_view::npos) places.push_back(i);
    if (places.empty()) return;
    std::size_t const place = places[pick(places.size())];
    line.replace(place, 1, to.empty() ? std::string() : std::string(1, to[pick(to.size())]));
  }
};

proof::Comparison compared(std::string const& a, dialect::Dialect const& in_a, std::string const& b,
                           dialect::Dialect const& in_b, double tolerance) {
  text::Findings findings;
  auto input_a = text::Input::from_memory(a);
  auto input_b = text::Input::from_memory(b);
  interpret::ProgramReader reader_a(input_a, in_a.read, findings), reader_b(input_b, in_b.read, findings);
  proof::CompareRules rules;
  rules.tolerance = tolerance;
  return proof::compare_cuts(reader_a, reader_b, rules);
}

dialect::Dialect shipped(std::string const& name) {
  auto loaded = dialect::load_dialect(RESTEP_SOURCE_DIR "/profiles/dialects/" + name + ".toml");
  REQUIRE(loaded);
  return *loaded;
}

} // namespace

TEST_CASE("ten thousand programs with a slip are written as they now are, or refused", "[mutants]") {
  auto const programs = good_programs();
  REQUIRE(programs.size() > 15);
  dialect::Dialect const from = shipped("rs274ngc");
  std::vector<dialect::Dialect> const targets{from, shipped("iso6983"), shipped("least-increment"),
                                              shipped("short-lines")};
  Mutator mutator(10'000);
  int refused = 0, kept = 0;
  for (int i = 0; i < 10'000; ++i) {
    auto const n = static_cast<std::size_t>(i);
    std::string const program = mutator.mutant(programs[n % programs.size()]);
    dialect::Dialect const& to = targets[n % targets.size()];
    proof::Rewritten const result = proof::rewritten(program, from, to);
    if (!result.errors.empty()) {
      ++refused;
      continue;
    }
    ++kept;
    INFO("mutant " << i << " in " << to.name << ":\n" << program.substr(0, 6000));
    REQUIRE(result.disagreement == "");
    if (to.name == from.name) {
      bool const same_bytes = result.text == program;
      REQUIRE(same_bytes);
    }
  }
  CHECK(refused > 500);
  CHECK(kept > 5000);
}

TEST_CASE("a slip that moves the cut moves it in the rewritten program too", "[mutants]") {
  auto const programs = good_programs();
  dialect::Dialect const from = shipped("rs274ngc"), to = shipped("iso6983");
  Mutator mutator(77);
  int moved = 0;
  for (std::size_t i = 0; i < 600; ++i) {
    std::string original;
    for (std::string const& line : programs[i % programs.size()])
      original += line;
    std::string const program = mutator.mutant(programs[i % programs.size()]);
    proof::Rewritten const result = proof::rewritten(program, from, to);
    if (!result.errors.empty() || compared(original, from, program, from, 0.004).same()) continue;
    ++moved;
    INFO("mutant " << i << ":\n" << program.substr(0, 6000));
    CHECK_FALSE(compared(original, from, result.text, to, 0.0015).same());
  }
  CHECK(moved > 100);
}
