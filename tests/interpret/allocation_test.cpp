// The plain path (blocks of words and remarks; expressions take the full grammar) costs no heap: counted by
// an operator new of our own, for the whole test program.
#include "interpret/reader.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <atomic>
#include <cstdlib>
#include <new>
#include <string>

namespace {

std::atomic<std::size_t> allocations{0};

void* counted_or_null(std::size_t size) noexcept {
  ++allocations;
  return std::malloc(size == 0 ? 1 : size);
}

void* counted(std::size_t size) {
  void* const memory = counted_or_null(size);
  if (memory == nullptr) throw std::bad_alloc();
  return memory;
}

} // namespace

void* operator new(std::size_t size) {
  return counted(size);
}
void* operator new[](std::size_t size) {
  return counted(size);
}
// Without these two the sanitizers' own would serve, and their memory is not for std::free.
void* operator new(std::size_t size, std::nothrow_t const&) noexcept {
  return counted_or_null(size);
}
void* operator new[](std::size_t size, std::nothrow_t const&) noexcept {
  return counted_or_null(size);
}
void operator delete(void* memory) noexcept {
  std::free(memory);
}
void operator delete[](void* memory) noexcept {
  std::free(memory);
}
void operator delete(void* memory, std::size_t) noexcept {
  std::free(memory);
}
void operator delete[](void* memory, std::size_t) noexcept {
  std::free(memory);
}

using namespace restep;

namespace {

/// Lines, arcs of both spellings, incremental passages, other units, spindle, coolant, block delete, a cycle.
std::string plain_program(int rounds) {
  std::string program = "%\nO1\nG21 G90 G17 G94\nT1 M6\nS900 M3\nG0 X0 Y0 Z10\n";
  for (int i = 0; i < rounds; ++i)
    program += fmt::format("N{} G0 X{}.5 Y0 Z5\nG1 Z-1.25 F200\nX10.125\n/Y20\nG2 X20 Y30 I10 J0 F300 M8\n"
                           "G3 X10 Y20 R10.\nG91 G1 X-.5 (back)\nG90\nS1200 ; turn\n(MSG, look)\n\n"
                           "G20 G1 X1. Y1. F8.\nG21\ng1x4y5z6f100\nG0 Z10\n"
                           "G81 X5 Y5 Z-3 R2 F90\nX8\nG80\nG4 P0.5\nG54 G0 X0 Y0\nM9\n",
                           i % 90'000, i % 50);
  return program + "M30\n%\n";
}

} // namespace

TEST_CASE("No block of a plain program costs a heap allocation") {
  constexpr int rounds = 400;
  auto input = text::Input::from_memory(plain_program(rounds));
  text::Findings findings;
  interpret::ProgramReader reader(input, {}, findings);
  motion::Step step;
  while (step.place.line < 200) // what is reserved once
    REQUIRE(reader.next(step));
  std::size_t const before = allocations;
  std::uint32_t last = step.place.line;
  std::uint32_t first_line = 0;
  while (reader.next(step)) {
    if (first_line == 0 && allocations != before) first_line = step.place.line;
    last = step.place.line;
  }
  std::size_t const after = allocations;
  CHECK(first_line == 0);
  CHECK(after - before == 0);
  CHECK(last > 7000);
  CHECK_FALSE(findings.has_errors());
}

TEST_CASE("The counter of heap allocations counts") {
  std::size_t const before = allocations;
  std::string const text(1000, 'x');
  CHECK(allocations - before == 1);
  CHECK(text.size() == 1000);
}
