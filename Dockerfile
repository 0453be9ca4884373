# One image for amd64 and arm64:   docker build -t rootcellar:latest .
# or both at once:                 docker buildx build --platform linux/amd64,linux/arm64 -t rootcellar:latest .
# The program is built on the machine's own processor and for the other one only put together: .NET does not run under QEMU's user emulation.
ARG SDK_IMAGE=dotnet/sdk:10.0
ARG RUNTIME_IMAGE=dotnet/aspnet:10.0

FROM --platform=$BUILDPLATFORM ${SDK_IMAGE} AS build
ARG TARGETARCH
WORKDIR /source
COPY Directory.Build.props Directory.Packages.props .editorconfig LICENSE ./
COPY build/BannedSymbols.txt build/
COPY src/ src/
# The lock file names no processor; the one for this image is made beside the build.
RUN case "${TARGETARCH:-amd64}" in amd64) arch=x64 ;; arm64) arch=arm64 ;; *) echo "not for ${TARGETARCH}" >&2; exit 1 ;; esac \
    && dotnet publish src/RootCellar -c Release -r "linux-$arch" --no-self-contained -p:HouseRules=false -p:RunAnalyzers=false -p:NuGetLockFilePath=obj/image.lock.json -o /app \
    && mkdir -m 700 /data

FROM ${RUNTIME_IMAGE}
WORKDIR /app
COPY --from=build /app ./
# A named volume takes its owner from here.
COPY --from=build --chown=1654:1654 /data /data
# The images' own user without rights, by number, so that anyone can see it is not root.
USER 1654
ENV DOTNET_EnableDiagnostics=0 TMPDIR=/tmp
VOLUME /data
EXPOSE 8080 1883
HEALTHCHECK --interval=30s --timeout=10s --start-period=60s --retries=3 CMD ["dotnet", "/app/rootcellar.dll", "health", "--data", "/data"]
ENTRYPOINT ["dotnet", "/app/rootcellar.dll"]
CMD ["run", "--data", "/data"]
