return await RootCellar.Commands.CommandLine.RunAsync(args);
