// Any bytes at all through the whole reading of a program, under the rules of different dialects: no crash,
// no hang, no read outside the text, every finding can be shown, and cuts that are read by the stretch are
// those that are read one by one.
#include "interpret/reader.hpp"
#include "motion/stretch.hpp"

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

using namespace restep;

namespace {

void require(bool condition) {
  if (!condition) std::abort();
}

/// Known when the centre is: the height of an arc may be unknown, its centre never.
double in_plane_sum(motion::Motion const& arc) {
  using enum motion::Plane;
  return (arc.plane == yz ? 0 : arc.centre.x) + (arc.plane == zx ? 0 : arc.centre.y) +
         (arc.plane == xy ? 0 : arc.centre.z);
}

void read_all(text::Input& input, interpret::ReadRules const& rules) {
  text::Findings findings;
  interpret::ProgramReader reader(input, rules, findings);
  motion::Step step;
  std::size_t characters = 0;
  std::uint32_t open_block = 0;
  while (reader.next(step)) {
    // Texts must be readable, and the steps of a block stand together.
    if (auto const* comment = std::get_if<motion::Comment>(&step.event))
      for (char const c : comment->text)
        characters += static_cast<unsigned char>(c);
    if (auto const* carried = std::get_if<motion::Carried>(&step.event)) require(!carried->text.empty());
    require(step.first_in_block == (open_block == 0));
    require(open_block == 0 || open_block == step.place.line);
    open_block = step.last_in_block ? 0 : step.place.line;
    require(step.place.offset + step.place.length <= input.size());
    if (auto const* move = motion::motion_of(step))
      if (motion::is_arc(*move)) require(motion::is_known(in_plane_sum(*move)));
  }
  require(open_block == 0);
  for (auto const& finding : findings.all()) {
    require(!finding.code.empty() && !finding.message.empty());
    characters += text::format(finding, "fuzz.nc").size();
  }
  if (characters == SIZE_MAX) std::abort(); // so that nothing above is left out
}

/// Where each of the motions stands and what it is, in bits: two places that are not known are alike.
template <bool in_stretches>
std::string motions_of(std::string_view program, interpret::ReadRules const& rules) {
  auto input = text::Input::from_memory(program);
  text::Findings findings;
  interpret::ProgramReader reader(input, rules, findings);
  std::string bits;
  auto const take = [&](motion::Step const& step) {
    motion::Motion const* const move = motion::motion_of(step);
    if (move == nullptr) return;
    auto const add = [&](auto const& value) {
      bits.append(reinterpret_cast<char const*>(&value), sizeof value);
    };
    add(step.place.line);
    add(step.place.offset);
    add(step.place.length);
    add(move->path);
    add(move->from);
    add(move->to);
    add(move->feed);
    add(step.modes.feed);
  };
  if constexpr (in_stretches) {
    motion::for_each(reader, [&](auto const& passing) {
      motion::for_each_step(passing, take);
      return true;
    });
  } else {
    motion::Step step;
    while (reader.next(step))
      take(step);
  }
  return bits;
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  std::string_view const program(reinterpret_cast<char const*>(data), size);
  interpret::ReadRules shop;
  shop.most_blocks = 2000;
  interpret::ReadRules counting = shop;
  counting.count_without_point = true;
  counting.dwell_in_milliseconds = true;
  counting.block_delete = true;
  counting.home_moves_all_axes = true;
  counting.initial_level_sticky = false;
  counting.starts_in_inch = true;
  counting.repeats_in_k = true;
  counting.carried_g = {50, 310, 431};
  counting.carried_m = {19, 29, 100};
  interpret::ReadRules strict = shop;
  strict.strict_layout = true;
  for (auto const* rules : {&shop, &counting, &strict}) {
    auto input = text::Input::from_memory(program);
    read_all(input, *rules);
  }
  for (auto const* rules : {&shop, &counting})
    require(motions_of<true>(program, *rules) == motions_of<false>(program, *rules));
  // As the read-back gets it: piece by piece, without a way back.
  auto pipe = text::Input::pipe("pipe");
  text::Findings findings;
  interpret::ProgramReader reader(pipe, shop, findings);
  motion::Step step;
  for (std::size_t at = 0; at < size; at += 61) {
    pipe.append(program.substr(at, 61));
    while (reader.next(step)) {
    }
  }
  pipe.close();
  while (reader.next(step)) {
  }
  return 0;
}
