using System.Collections.Concurrent;
using System.Reflection;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Filters;

namespace RootCellar.Pages;

/// <summary>A form without a field that its handler cannot do without is answered with 400: no page of ours sends one.</summary>
internal sealed class MissingFields : IAsyncPageFilter
{
    private static readonly ConcurrentDictionary<ParameterInfo, bool> Needed = new();

    public Task OnPageHandlerSelectionAsync(PageHandlerSelectedContext context) => Task.CompletedTask;

    public async Task OnPageHandlerExecutionAsync(PageHandlerExecutingContext context, PageHandlerExecutionDelegate next)
    {
        foreach (var parameter in context.HandlerMethod?.Parameters ?? [])
        {
            if ((context.HandlerArguments.TryGetValue(parameter.Name, out var given) && given is not null)
                || !Needed.GetOrAdd(parameter.ParameterInfo, IsNeeded))
                continue;
            context.Result = new BadRequestResult();
            return;
        }

        await next();
    }

    private static bool IsNeeded(ParameterInfo parameter) =>
        !parameter.HasDefaultValue && !parameter.ParameterType.IsValueType && new NullabilityInfoContext()
            .Create(parameter).WriteState == NullabilityState.NotNull;
}
