# valvebook: GNU make, no configure step. See DEVELOPERS.md.
PREFIX ?= /usr/local
CC     ?= cc
CFLAGS ?= -O3 -g
PKG_CONFIG ?= pkg-config

VERSION := 0.1.0
TOOLS   := $(patsubst cmd/%.c,%,$(wildcard cmd/valve-*.c))
PKGS    := sqlite3 zlib gsl

comma := ,
B := build$(if $(SAN),-$(subst $(comma),-,$(SAN)))$(if $(COV),-cov)
pc = $(shell $(PKG_CONFIG) $(1) $(PKGS) 2>/dev/null)

# files beyond 2 GB and days beyond 2038, where a long has 32 bits too
wide = -D_FILE_OFFSET_BITS=64 -D_TIME_BITS=64

# asked for when they are used: "make deps all" has them installed by then
our_cppflags = -Iinclude -D_XOPEN_SOURCE=700 $(wide) -DVB_VERSION='"$(VERSION)"'
our_cflags   = -std=c17 -pthread -Wall -Wextra $(call pc,--cflags)
our_ldlibs   = -lcsv $(call pc,--libs) -lm
ifdef DEV
our_cflags += -Werror -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes \
              -Wvla -Wwrite-strings -Wformat=2
endif
ifdef SAN
our_cflags += -fsanitize=$(SAN) -fno-omit-frame-pointer -fno-sanitize-recover=all
endif

ifdef COV
our_cflags += --coverage
endif

compile = $(CC) $(our_cppflags) $(CPPFLAGS) $(our_cflags) $(CFLAGS)
rooms   := trade text book
objs    := $(patsubst %.c,$(B)/%.o,$(foreach r,$(rooms),$(wildcard lib/$(r)/*.c)))
lib     := $(B)/libvalvebook.a
bins    := $(TOOLS:%=$(B)/bin/%)
units   := $(patsubst tests/%.c,$(B)/tests/%,$(wildcard tests/*_test.c))
helpers := $(patsubst tests/tools/%.c,$(B)/tests/%,$(wildcard tests/tools/*.c))
fuzz    := $(patsubst tests/fuzz/%.c,%,$(filter-out tests/fuzz/replay.c,$(wildcard tests/fuzz/*.c)))
replays := $(fuzz:%=$(B)/tests/replay_%)
fuzzers := $(fuzz:%=$(B)/fuzz/%)
preload := $(patsubst tests/preload/%.c,$(B)/tests/%.so,$(wildcard tests/preload/*.c))
demogen := $(B)/fixtures/demo-data

.DELETE_ON_ERROR:
.SUFFIXES:
.SECONDARY:
.PHONY: all deps demo check check-all lint coverage fuzz fuzzers bench bench-scale install uninstall clean

all: $(bins)

$(B)/%.o: %.c
	@mkdir -p $(@D)
	$(compile) -MMD -MP -c -o $@ $<

$(lib): $(objs)
	rm -f $@
	$(AR) rcs $@ $(objs)

$(B)/bin/%: $(B)/cmd/%.o $(lib)
	@mkdir -p $(@D)
	$(compile) $(LDFLAGS) -o $@ $< $(lib) $(our_ldlibs)

$(B)/tests/%_test: $(B)/tests/%_test.o $(lib)
	$(compile) $(LDFLAGS) $(wrap) -o $@ $< $(lib) $(shell $(PKG_CONFIG) --libs check) $(our_ldlibs)

# what fails, fails only for lib/; not LDFLAGS, which the command line may set
$(B)/tests/date_test: wrap = -Wl,--wrap=time,--wrap=__time64
$(B)/tests/lock_test: wrap = -Wl,--wrap=fcntl,--wrap=fcntl64,--wrap=__fcntl_time64
$(B)/tests/pipe_test: wrap = -Wl,--wrap=poll,--wrap=write,--wrap=waitpid
$(B)/tests/reports_memory_test: wrap = -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc,--wrap=strdup

$(B)/tests/%_floor: $(B)/tests/tools/%_floor.o
	$(compile) $(LDFLAGS) -o $@ $< $(our_ldlibs)

$(B)/tests/%: $(B)/tests/tools/%.o $(lib)
	$(compile) $(LDFLAGS) -o $@ $< $(lib) $(our_ldlibs)

$(B)/tests/replay_%: $(B)/tests/fuzz/%.o $(B)/tests/fuzz/replay.o $(lib)
	$(compile) $(LDFLAGS) -o $@ $^ $(our_ldlibs)

# tests that refuse memory: tests/refuse.h
wrapped := malloc calloc realloc strdup gsl_interp_alloc gsl_root_fsolver_alloc \
           gsl_integration_glfixed_table_alloc
$(B)/tests/memory%: wrap = $(wrapped:%=-Wl,--wrap=%)

# only with CC=clang and SAN=fuzzer-no-link,...: see the target fuzz
$(B)/fuzz/%: $(B)/tests/fuzz/%.o $(lib)
	@mkdir -p $(@D)
	$(compile) -fsanitize=fuzzer $(LDFLAGS) -o $@ $^ $(our_ldlibs)

$(B)/tests/%.so: tests/preload/%.c tests/preload/nth.h tests/draw.h
	@mkdir -p $(@D)
	$(CC) -std=gnu17 -Wall -Wextra -O2 -shared -fPIC -pthread -o $@ $< -ldl

$(demogen): $(B)/fixtures/demo/generate.o $(B)/fixtures/demo/shop.o $(B)/fixtures/demo/cams.o $(lib)
	$(compile) $(LDFLAGS) -o $@ $^ $(our_ldlibs)

deps:
	@.ci/deps

demo: all $(demogen)
	@B=$(B) fixtures/demo/run.sh

check: all $(units) $(helpers) $(replays) $(preload) $(demogen)
	@B=$(B) tests/run.sh

check-all: all $(units) $(helpers) $(replays) $(preload) $(demogen)
	@B=$(B) VB_ALL=1 tests/run.sh

lint:
	@tests/lint.sh

# VB_ALL=1 for the slow tests too; MISSED=lib/trade lists what no test has taken
coverage:
	@VB_COVERAGE=1 .ci/deps
	@status=0; $(MAKE) COV=1 CFLAGS="-O0 -g" check || status=1; \
	B=build-cov tests/coverage.sh && exit $$status

# SECONDS_EACH=60 HARNESS=all
fuzz:
	@VB_FUZZ=1 .ci/deps
	@$(MAKE) CC=clang SAN=fuzzer-no-link,address,undefined CFLAGS="-O1 -g" fuzzers
	@B=build-fuzzer-no-link-address-undefined tests/fuzz/run.sh

fuzzers: $(fuzzers)

bench: all $(helpers)
	@VB_BENCH=1 .ci/deps
	@B=$(B) tests/bench/run.sh

bench-scale: all $(helpers)
	@VB_BENCH=1 .ci/deps
	@B=$(B) tests/bench/scale.sh

install: all
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/share/man/man1 $(DESTDIR)$(PREFIX)/share/man/man7
	install -m 755 $(bins) $(DESTDIR)$(PREFIX)/bin
	install -m 644 docs/man/*.1 $(DESTDIR)$(PREFIX)/share/man/man1
	install -m 644 docs/man/*.7 $(DESTDIR)$(PREFIX)/share/man/man7

uninstall:
	rm -f $(TOOLS:%=$(DESTDIR)$(PREFIX)/bin/%) $(TOOLS:%=$(DESTDIR)$(PREFIX)/share/man/man1/%.1)
	rm -f $(DESTDIR)$(PREFIX)/share/man/man7/valvebook.7

clean:
	rm -rf build build-*

-include $(shell find $(B) -name '*.d' 2>/dev/null)
