# Built in one image, run in another that holds the program and the C library it is linked with.
FROM rust:1.92-bookworm AS build
WORKDIR /source
COPY . .
# The state of the source, as --version tells it: there is no repository in the image.
ARG SASHWRIGHT_BUILD=image
ENV SASHWRIGHT_BUILD=$SASHWRIGHT_BUILD
RUN cargo build --release --locked --package sashwright

FROM debian:bookworm-slim
RUN useradd --system --uid 10001 --no-create-home sashwright \
    && install -d -o sashwright -g sashwright -m 0700 /var/lib/sashwright
COPY --from=build /source/target/release/sashwright /usr/local/bin/sashwright
USER 10001
VOLUME /var/lib/sashwright
# Reached from outside the container, it needs keys: mount their file and name it in SASHWRIGHT_KEYS.
ENV SASHWRIGHT_LISTEN=0.0.0.0:8080 \
    SASHWRIGHT_DATA=/var/lib/sashwright \
    SASHWRIGHT_KEYS=/etc/sashwright/keys.json \
    SASHWRIGHT_LOG=json
EXPOSE 8080
STOPSIGNAL SIGTERM
# By the shell's own sockets, as the image has no HTTP client; with certificates, ask from outside instead.
HEALTHCHECK CMD ["bash", "-c", "exec 3<>/dev/tcp/127.0.0.1/8080 && printf 'GET /v1/health/live HTTP/1.0\\r\\n\\r\\n' >&3 && head -n 1 <&3 | grep -q ' 200 '"]
ENTRYPOINT ["/usr/local/bin/sashwright"]
CMD ["serve"]
